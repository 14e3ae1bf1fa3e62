"""The site's settings as tests and benchmarks run them: nothing kept after a run, nothing shared between two.

The store stays the one that DATABASE_URL names. SQLite's test file goes when the run ends.
"""

import os

os.environ.setdefault("SECRET_KEY", "the tests sign nothing that outlives them")

from catalogue.settings import *
from catalogue.settings import DATA_DIR, DATABASES, STORAGES

if DATABASES["default"]["ENGINE"] == "catalogue.sqlite":
    # A file, because the live server's threads share it with the tests, which `:memory:` cannot; named by the
    # process, so that two runs in one folder do not take each other's.
    DATABASES["default"]["TEST"] = {"NAME": DATA_DIR / f"test-{os.getpid()}.sqlite3"}

CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}

# Static files come straight from the apps, so no test needs `collectstatic` to have run.
STORAGES |= {"staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}}
WHITENOISE_USE_FINDERS = WHITENOISE_AUTOREFRESH = True

# The real hasher is slow on purpose, and no test is about it.
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]

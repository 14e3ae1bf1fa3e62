"""What a web server calls: `gunicorn catalogue.wsgi` finds `application` here."""

import os

from django.core.wsgi import get_wsgi_application
from django.urls import get_resolver

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "catalogue.settings")

application = get_wsgi_application()

# Every page's code is loaded with the process, so that the first person does not wait for it.
get_resolver().url_patterns  # noqa: B018

"""What a web server calls: `gunicorn catalogue.wsgi` finds `application` here."""

import os
from importlib import import_module

from django.conf import settings
from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "catalogue.settings")

application = get_wsgi_application()

# Every page's code is loaded with the process, so that the first person does not wait for it.
import_module(settings.ROOT_URLCONF)

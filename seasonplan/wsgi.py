"""The WSGI entry point: `gunicorn seasonplan.wsgi`."""

import os

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "seasonplan.settings")
application = get_wsgi_application()

if not settings.ALLOWED_HOSTS:
    raise ImproperlyConfigured("SEASONPLAN_HOSTS is empty; name the host that visitors type")

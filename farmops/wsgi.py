"""Entry point of the web server."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "farmops.settings.service")

application = get_wsgi_application()

import farmops.celery  # noqa: E402  (nudges need the configured app)
import farmops.urls  # noqa: E402, F401  (loaded before the first visitor, and once for all processes)

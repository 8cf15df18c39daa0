"""The WSGI entry point that granian serves."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fitstudio.settings.production")

application = get_wsgi_application()

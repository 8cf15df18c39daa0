"""The ASGI entry point for servers that prefer it."""

import os

from django.core.asgi import get_asgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fitstudio.settings.production")

application = get_asgi_application()

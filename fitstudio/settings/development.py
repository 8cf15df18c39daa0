"""For the people who build the product: errors are shown, mail goes to the sent-mail page, static files come from the source."""

from fitstudio.settings.base import *  # noqa: F403 - settings modules layer by import
from fitstudio.settings.base import STORAGES, VAR_DIR, env

DEBUG = env.bool("DEBUG", default=True)
DEMO = True
SECRET_KEY = "development-only-not-a-secret"  # noqa: S105 - never used in production, which refuses to start without its own
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", default=[".localhost", "127.0.0.1", "[::1]"])
VAR_DIR.mkdir(parents=True, exist_ok=True)
STORAGES = {**STORAGES, "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}}
EMAIL_BACKEND = "django.core.mail.backends.dummy.EmailBackend"
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = True

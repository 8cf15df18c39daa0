"""The demo studio: production's server and middleware on a database of its own, with invented people and a sent-mail page."""

from fitstudio.settings.base import *  # noqa: F403 - settings modules layer by import
from fitstudio.settings.base import STORAGES, VAR_DIR, env

DEMO = True
SECRET_KEY = "demo-only-not-a-secret"  # noqa: S105 - the demo holds no real data and listens on this machine only
ALLOWED_HOSTS = ["127.0.0.1", "localhost", "[::1]"]
VAR_DIR.mkdir(parents=True, exist_ok=True)
DATABASES = {
    "default": {
        **env.db_url_config(f"sqlite:///{VAR_DIR / 'demo.sqlite3'}"),
        "CONN_MAX_AGE": 60,
        "OPTIONS": SQLITE_OPTIONS,  # noqa: F405 - from base
    }
}
STORAGES = {**STORAGES, "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"}}
# Mail is kept as sent in the outbox and shown on a page; nothing leaves the machine.
EMAIL_BACKEND = "django.core.mail.backends.dummy.EmailBackend"

"""For the tests: fast password hashes, mail in memory, a database file so that concurrent writers are real."""

import os

from fitstudio.settings.base import *  # noqa: F403 - settings modules layer by import
from fitstudio.settings.base import DATABASES, STORAGES, VAR_DIR

DEMO = False
SECRET_KEY = "test-only-not-a-secret"  # noqa: S105 - tests only
ALLOWED_HOSTS = ["testserver", "localhost", "127.0.0.1"]
VAR_DIR.mkdir(parents=True, exist_ok=True)
# An in-memory database cannot be shared by the threads of a concurrency test; two runs at once each have their own file.
DATABASES["default"]["TEST"] = (
    {"NAME": str(VAR_DIR / f"test-{os.getpid()}.sqlite3")}
    if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3"
    else {}
)
STORAGES = {
    **STORAGES,
    "photos": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
WHITENOISE_AUTOREFRESH = True
# A look every few seconds would fall into some tests' counts of queries and not into others': tests look when they mean to.
CATALOGUE_FOLLOW_S = None

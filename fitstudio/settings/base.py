"""What every way of running the product shares. Each setting that differs comes from the environment or from a sibling module."""

from pathlib import Path

import environ
from django.urls import reverse_lazy

BASE_DIR = Path(__file__).resolve().parents[2]

env = environ.Env()
environ.Env.read_env(BASE_DIR / ".env")

# Everything that the product writes: databases, collected static files, uploads.
VAR_DIR = Path(env.str("FITSTUDIO_VAR", default=str(BASE_DIR / "var")))

DEBUG = False
DEMO = False
ALLOWED_HOSTS: list[str] = []

INSTALLED_APPS = [
    "fitstudio.apps.OwnerAdminConfig",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.forms",
    "django_htmx",
    "phonenumber_field",
    "django_tasks",
    "django_tasks_db",
    "intake",
    "sessions",
    "fitstudio.accounts",
    "fitstudio",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "fitstudio.requests.OnlyUtf8",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "fitstudio.errors.WrongMethodPage",
    "intake.edge.catalogue.OneCatalogue",
]

ROOT_URLCONF = "fitstudio.urls"
WSGI_APPLICATION = "fitstudio.wsgi.application"
ASGI_APPLICATION = "fitstudio.asgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "fitstudio.context.product",
            ],
        },
    },
]
FORM_RENDERER = "intake.edge.rendering.ProjectFormRenderer"

# In WAL mode with immediate transactions writers queue instead of failing; FULL keeps an accepted booking through a power cut.
SQLITE_OPTIONS = {
    "transaction_mode": "IMMEDIATE",
    "timeout": 20,
    "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;",
}


def database(default: str) -> dict[str, object]:
    """Return the database settings of ``DATABASE_URL``, with the SQLite options where it is SQLite."""
    config = env.db_url("DATABASE_URL", default=default)
    config["CONN_MAX_AGE"], config["CONN_HEALTH_CHECKS"] = 60, True
    if config["ENGINE"] == "django.db.backends.sqlite3":
        config["OPTIONS"] = SQLITE_OPTIONS
    return config


DATABASES = {"default": database(f"sqlite:///{VAR_DIR / 'fitstudio.sqlite3'}")}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "accounts.User"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
LOGIN_URL = reverse_lazy("login")
LOGIN_REDIRECT_URL = reverse_lazy("desk:home")
LOGOUT_REDIRECT_URL = reverse_lazy("booking:services")
CSRF_FAILURE_VIEW = "fitstudio.errors.csrf_failure"

LANGUAGE_CODE = "en-gb"
LANGUAGES = [("en-gb", "English")]
LOCALE_PATHS = [BASE_DIR / "fitstudio" / "locale"]
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"

STATIC_URL = "static/"
STATIC_ROOT = VAR_DIR / "static"
STATICFILES_DIRS = [BASE_DIR / "static"]
MEDIA_ROOT = VAR_DIR / "media"
# Riders' photos lie in a folder that no address leads to: only views that know who asks read it. Any storage of Django's will do.
PRIVATE_PHOTOS = env.str("PRIVATE_PHOTOS", default=str(VAR_DIR / "photos"))
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "photos": {
        "BACKEND": "django.core.files.storage.FileSystemStorage",
        "OPTIONS": {
            "location": PRIVATE_PHOTOS,
            "file_permissions_mode": 0o600,
            "directory_permissions_mode": 0o700,
        },
    },
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}

TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}

# Where the intake learns about a session without importing it: a function from check ids to plain values.
INTAKE_SLOT_SOURCE = "sessions.selectors.slots.slots_of_checks"
# How many seconds a process goes on asking what it asks before it looks whether an owner has published another edition.
CATALOGUE_FOLLOW_S: float | None = 5
# Whether a broken catalogue file keeps the product from starting; a studio at work goes on with the last version that was good.
CATALOGUE_MUST_BE_SOUND = True
# How long after a session a rider's private link still opens their pages.
RIDER_LINK_DAYS_AFTER = 730
SITE_URL = env.str("SITE_URL", default="http://127.0.0.1:8000")
DEFAULT_FROM_EMAIL = env.str("DEFAULT_FROM_EMAIL", default="studio@wrenfield.example")
PHONENUMBER_DEFAULT_REGION = env.str("PHONE_REGION", default="GB")
PHONENUMBER_DEFAULT_FORMAT = "INTERNATIONAL"

DATA_UPLOAD_MAX_MEMORY_SIZE = 1_000_000
FILE_UPLOAD_HANDLERS = ["fitstudio.requests.NoFiles"]
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
X_FRAME_OPTIONS = "DENY"
# A private link must not leak to another site in a Referer header.
SECURE_REFERRER_POLICY = "same-origin"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": ["'self'"],
        "script-src": ["'self'"],
        "style-src": ["'self'"],
        "img-src": ["'self'", "data:"],
        "object-src": ["'none'"],
        "base-uri": ["'none'"],
        "frame-ancestors": ["'none'"],
        "form-action": ["'self'"],
    }
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"plain": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "filters": {"hide_secrets": {"()": "fitstudio.logs.HideSecrets"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "plain", "filters": ["hide_secrets"]}},
    "root": {"handlers": ["console"], "level": "INFO"},
}

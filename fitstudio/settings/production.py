"""A real studio on the network: secrets and addresses come from the environment, or it does not start."""

from fitstudio.settings.base import *  # noqa: F403 - settings modules layer by import
from fitstudio.settings.base import env

SECRET_KEY = env.str("SECRET_KEY")
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS")
SITE_URL = env.str("SITE_URL").rstrip("/")
CSRF_TRUSTED_ORIGINS = [SITE_URL]

EMAIL_CONFIG = env.email_url("EMAIL_URL", default="smtp://localhost:25")
vars().update(EMAIL_CONFIG)
EMAIL_TIMEOUT = 30  # a mail server that says nothing must not hold the worker longer than a mail's claim lasts
DEFAULT_FROM_EMAIL = env.str("DEFAULT_FROM_EMAIL")

CATALOGUE_MUST_BE_SOUND = False

SECURE_SSL_REDIRECT = env.bool("SECURE_SSL_REDIRECT", default=True)
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if env.bool("BEHIND_PROXY", default=False) else None
SECURE_HSTS_SECONDS = env.int("SECURE_HSTS_SECONDS", default=31_536_000)
SECURE_HSTS_INCLUDE_SUBDOMAINS = True
SECURE_HSTS_PRELOAD = True
SESSION_COOKIE_SECURE = True
CSRF_COOKIE_SECURE = True

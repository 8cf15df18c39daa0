"""Who works at the studio."""

from django.apps import AppConfig


class AccountsConfig(AppConfig):
    """Staff accounts."""

    name = "fitstudio.accounts"
    label = "accounts"

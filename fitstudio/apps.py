"""The project's own app: its commands, and the owner's admin."""

from django.apps import AppConfig
from django.contrib.admin import apps as admin_apps


class FitstudioConfig(AppConfig):
    """The project: settings, urls, desk, commands."""

    name = "fitstudio"
    default = True


class OwnerAdminConfig(admin_apps.AdminConfig):
    """Django's admin, opened only to owners."""

    default = False
    default_site = "fitstudio.owner_admin.OwnerAdminSite"

"""The studio's time and the fit itself."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class FitSessionsConfig(AppConfig):
    """Services, diary, fit records and sheets. Django's own session app holds the label ``sessions``."""

    name = "sessions"
    label = "fit_sessions"
    verbose_name = _("Sessions and fits")

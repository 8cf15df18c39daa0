"""The rider's side before the slot."""

from django.apps import AppConfig


class IntakeConfig(AppConfig):
    """Clients, bikes, pre-visit checks, triage and the mail that goes with them."""

    name = "intake"

    def ready(self) -> None:
        """Register the system checks on the catalogue."""
        from intake import checks  # noqa: F401, PLC0415 - importing registers them

"""What every template may ask of the product."""

from django.conf import settings
from django.http import HttpRequest


def product(request: HttpRequest) -> dict[str, object]:
    """Return whether this is the demo, for the notice and the sent-mail link."""
    return {"demo": settings.DEMO}

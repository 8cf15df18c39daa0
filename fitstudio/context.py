"""What every template may ask of the product."""

from django.conf import settings
from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject

from sessions.models import Studio


def product(request: HttpRequest) -> dict[str, object]:
    """Return whether this is the demo, and the studio whose name heads the page where the view names none."""
    return {"demo": settings.DEMO, "studio": SimpleLazyObject(first_studio)}


def first_studio() -> Studio:
    """Return the studio that is open for booking, or an unnamed one before the first is set up."""
    return Studio.objects.filter(is_active=True).order_by("pk").first() or Studio()

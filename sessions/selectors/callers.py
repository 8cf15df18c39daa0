"""Find the rider who is on the line."""

from django.db.models import QuerySet

from intake.folding import search_words
from intake.models import Client

SHOWN = 12


def found_callers(typed: str) -> QuerySet[Client]:
    """Return the first few clients in whom every word of what was typed is found; none where nothing was typed."""
    words = search_words(typed)
    found = Client.objects.prefetch_related("bikes") if words else Client.objects.none()
    for word in words:
        found = found.filter(search_text__contains=word)
    return found.order_by("name", "pk")[:SHOWN]

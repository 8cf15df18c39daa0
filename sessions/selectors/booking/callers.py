"""Find the rider who is on the line."""

from django.db.models import QuerySet

from intake.folding import search_words
from intake.models import Client
from intake.selectors.clients import matching_clients

SHOWN = 12


def found_callers(typed: str) -> QuerySet[Client]:
    """Return the first few clients in whom every word of what was typed is found; none where nothing was typed."""
    found = matching_clients(typed) if search_words(typed) else Client.objects.none()
    return found.prefetch_related("bikes").order_by("name", "pk")[:SHOWN]

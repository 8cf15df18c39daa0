"""Find riders as a hurried person types their name, address or number."""

from django.db.models import QuerySet

from intake.folding import search_words
from intake.models import Client


def matching_clients(typed: str) -> QuerySet[Client]:
    """Return the clients in whom every word of what was typed is found; all of them where nothing was typed."""
    found = Client.objects.all()
    for word in search_words(typed):
        found = found.filter(search_text__contains=word)
    return found

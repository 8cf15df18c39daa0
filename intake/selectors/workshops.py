"""The studio's list of workshops."""

from django.db.models import Count, QuerySet

from intake.models import Workshop


def workshops_in_use() -> QuerySet[Workshop]:
    """Return the workshops that can be chosen, by name."""
    return Workshop.objects.filter(is_active=True)


def all_workshops() -> QuerySet[Workshop]:
    """Return all workshops with how many ``sheets`` each has had, those in use first."""
    return Workshop.objects.annotate(sheets=Count("job_sheets")).order_by("-is_active", "name", "pk")

"""Which private links are open, and their full addresses as mails and the desk show them."""

from django.conf import settings
from django.db.models import QuerySet
from django.urls import reverse
from django.utils import timezone

from intake.models import PreVisitCheck, RiderLink


def open_links() -> QuerySet[RiderLink]:
    """Return the links that open pages now, the newest first."""
    return RiderLink.objects.filter(revoked_at__isnull=True, expires_at__gt=timezone.now())


def newest_link(pre_visit: PreVisitCheck) -> RiderLink | None:
    """Return the newest open link of a check, None where none is open."""
    return open_links().filter(pre_visit=pre_visit).first()


def full_address(link: RiderLink | None, page: str = "rider:home") -> str:
    """Return the full address of one of the pages that a link opens, nothing without a link."""
    return settings.SITE_URL + reverse(page, args=[link.token]) if link else ""

"""Issue, open and revoke riders' private links."""

from datetime import datetime

from django.utils import timezone
from django.utils.crypto import constant_time_compare

from intake.models import PreVisitCheck, RiderLink

LONGEST_TOKEN = 64


class LinkUnknownError(Exception):
    """No link has this token: mistyped, cut off or made up."""


class LinkClosedError(Exception):
    """The link was revoked, or its time is over."""

    def __init__(self, link: RiderLink) -> None:
        """Keep the link, whose studio can be named."""
        super().__init__("This link no longer opens anything.")
        self.link = link


def issue_link(*, pre_visit: PreVisitCheck, expires_at: datetime) -> RiderLink:
    """Make a new link to the pages of one check."""
    return RiderLink.objects.create(pre_visit=pre_visit, expires_at=expires_at)


def revoke_links(*, pre_visit: PreVisitCheck) -> int:
    """Close every open link to the pages of one check; return how many there were."""
    return RiderLink.objects.filter(pre_visit=pre_visit, revoked_at__isnull=True).update(revoked_at=timezone.now())


def open_link(token: str) -> RiderLink:
    """Return the open link of a token, or raise ``LinkUnknownError`` or ``LinkClosedError``."""
    key, _dot, signature = token.partition(".")
    if len(token) > LONGEST_TOKEN or not token.isascii() or not token.isprintable():
        raise LinkUnknownError
    if not constant_time_compare(signature, RiderLink.signature_of(key)):
        raise LinkUnknownError
    links = RiderLink.objects.select_related("pre_visit__client", "pre_visit__bike")
    link = links.filter(key=key).first()
    if link is None:
        raise LinkUnknownError
    if not link.is_open:
        raise LinkClosedError(link)
    return link

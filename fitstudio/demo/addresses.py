"""What to open first: the addresses that the demo prints when it is ready."""

import re

from django.urls import reverse
from django.utils import timezone

from fitstudio.demo.files import read
from intake.models import JobLink, OutgoingMail, RiderLink

OWN_ADDRESS = re.compile(r"http://127\.0\.0\.1:\d+")


def addresses(site_url: str) -> str:
    """Return the lines to print."""
    given = read("studio.toml")
    owner, *others = given["staff"]["people"]
    places = [
        ("The studio's public page", reverse("booking:services")),
        *_riders(),
        *_workshops(),
        (f"The desk: log in as {owner['username']}, password {given['staff']['password']}", reverse("desk:home")),
        ("The mails that the studio sent (same log-in)", reverse("desk:mail")),
        ("The owner's records (same log-in)", reverse("admin:index")),
    ]
    shown = "".join(f"  {what}\n      {site_url}{path}\n" for what, path in places)
    names = ", ".join(f"{person['username']} ({person['role']})" for person in others)
    return (
        f"\n{given['studio']['name']} is open.\n\n{shown}\n"
        f"Others log in with the same password: {names}.\n"
        "Stop it with Ctrl-C. Starting again keeps the data; --fresh begins anew.\n"
    )


def _riders() -> list[tuple[str, str]]:
    """Return the private links of the riders whom the demo's data names, as far as they are still open."""
    found = []
    for email, words in _shown_riders():
        links = RiderLink.objects.filter(pre_visit__client__email=email, revoked_at=None, expires_at__gt=timezone.now())
        if link := links.select_related("pre_visit__client").order_by("-pk").first():
            person = link.pre_visit.client
            found.append((f"{person.latin_name or person.name}, {words}", link.get_absolute_url()))
    return found


def _workshops() -> list[tuple[str, str]]:
    """Return the newest job sheet that is still open, as its workshop sees it."""
    links = JobLink.objects.filter(revoked_at=None, expires_at__gt=timezone.now()).select_related("job_sheet")
    newest = links.order_by("-pk").first()
    if newest is None:
        return []
    return [(f"{newest.job_sheet.workshop_name}, a workshop with a job sheet", newest.get_absolute_url())]


def _shown_riders() -> list[tuple[str, str]]:
    riders = read("riders.toml")["riders"]
    return [(rider["email"], told["shown_as"]) for rider in riders for told in rider["sessions"] if "shown_as" in told]


def point_mails_at(site_url: str) -> int:
    """Let the addresses in kept mails lead to where the demo runs now, perhaps on another port; return how many changed."""
    changed = 0
    for mail in OutgoingMail.objects.filter(body__contains="http://127.0.0.1:").only("body"):
        body = OWN_ADDRESS.sub(site_url, mail.body)
        if body != mail.body:
            OutgoingMail.objects.filter(pk=mail.pk).update(body=body)
            changed += 1
    return changed

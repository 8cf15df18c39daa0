"""Every address of the product, with values for its parameters: one list that the access walk and the browser share."""

import re
from dataclasses import dataclass, field

from django.urls import URLPattern, URLResolver, get_resolver, reverse

from tests import factories

DJANGOS_OWN = {"admin"}
PARAMETER = re.compile(r"<(?:\w+:)?(\w+)>")


@dataclass(frozen=True)
class Page:
    """One address: its name, the names of its parameters, and who may open it."""

    name: str
    parameters: tuple[str, ...]
    access: str | None = field(compare=False)

    def path(self, values):
        """The address with this page's own values, or the common ones."""
        own = values.get(self.name, {})
        return reverse(self.name, kwargs={name: own.get(name, values[name]) for name in self.parameters})


def leaves(patterns, namespaces=(), prefix=""):
    """Every named view below these patterns."""
    for entry in patterns:
        path = prefix + str(entry.pattern)
        if isinstance(entry, URLResolver):
            inner = (*namespaces, entry.namespace) if entry.namespace else namespaces
            yield from leaves(entry.url_patterns, inner, path)
        elif isinstance(entry, URLPattern) and namespaces and namespaces[0] not in DJANGOS_OWN:
            name = ":".join((*namespaces, entry.name))
            yield Page(name, tuple(PARAMETER.findall(path)), getattr(entry.callback, "access", None))


PAGES = sorted(set(leaves(get_resolver().url_patterns)), key=lambda page: page.name)
STAFF_PAGES = [page for page in PAGES if page.access == "staff"]
RIDER_PAGES = [page for page in PAGES if page.access == "rider"]
PUBLIC_PAGES = [page for page in PAGES if page.access == "public"]


def values_for(fit_session, rider_link):
    """A value for every parameter that an address can have, all belonging to one rider."""
    mail = factories.OutgoingMailFactory(client=fit_session.client)
    attachment = mail.attachments.create(filename="a.ics", media_type="text/calendar", content=b"x")
    client, check = fit_session.client_id, fit_session.pre_visit_id
    common = {
        "token": rider_link.token,
        "pk": fit_session.pk,
        "service_pk": fit_session.service_id,
        "pre_visit_pk": check,
        "bike_pk": fit_session.bike_id,
        "studio_slug": fit_session.studio.slug,
        "service_slug": fit_session.service.slug,
        "key": "crash",
        "choice": "keep",
        "phase": "before",
        "quantity": "saddle_height",
        "measure": "inseam",
        "item": "brakes",
    }
    by_client = {name: {"pk": client} for name in ("client", "edit_client", "new_bike", "edit_bike")}
    own = {f"desk:{name}": row for name, row in by_client.items()}
    own |= {page.name: {"pk": check} for page in PAGES if page.name.startswith("desk_check:")}
    own |= {"desk:send_again": {"pk": mail.pk}, "desk:attachment": {"pk": attachment.pk}}
    own |= {"check:place": {"key": "neck"}, "desk_check:place": {"pk": check, "key": "neck"}}
    return common | own

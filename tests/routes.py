"""Every address of the product, with values for its parameters: one list that the access walk and the browser share."""

import re
from dataclasses import dataclass, field
from datetime import timedelta

from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone

from tests import factories

DJANGOS_OWN = {"admin"}
ABOUT_A_CLIENT = {"desk:client", "desk:edit_client", "desk:new_bike", "desk:edit_bike"}
PARAMETER = re.compile(r"<(?:\w+:)?(\w+)>")


@dataclass(frozen=True)
class Page:
    """One address: its name, the names of its parameters, and who may open it."""

    name: str
    parameters: tuple[str, ...]
    access: str | None = field(compare=False)

    def path(self, values, **forced):
        """The address with this page's own values, or the common ones; ``forced`` ones before either."""
        given = values | values.get(self.name, {}) | forced
        return reverse(self.name, kwargs={name: given[name] for name in self.parameters})


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
OWNER_PAGES = [page for page in PAGES if page.access == "owner"]
RIDER_PAGES = [page for page in PAGES if page.access == "rider"]
WORKSHOP_PAGES = [page for page in PAGES if page.access == "workshop"]
PUBLIC_PAGES = [page for page in PAGES if page.access == "public"]


def values_for(fit_session, rider_link):
    """A value for every parameter that an address can have; whatever belongs to a rider belongs to the same one."""
    mail = factories.OutgoingMailFactory(client=fit_session.client)
    attachment = mail.attachments.create(filename="a.ics", media_type="text/calendar", content=b"x")
    client, check = fit_session.client_id, fit_session.pre_visit_id
    change = recorded(fit_session, state="under_way").component_changes.get()
    line, job_link = job_for_a_workshop(fit_session)
    common = {
        "token": rider_link.token,
        "pk": fit_session.pk,
        "service_pk": fit_session.service_id,
        "pre_visit_pk": check,
        "bike_pk": fit_session.bike_id,
        "studio_slug": fit_session.studio.slug,
        "service_slug": fit_session.service.slug,
        "key": "crash",
        "finding_key": "post_slides.stuck",
        "choice": "keep",
        "phase": "before",
        "quantity": "saddle_height",
        "measure": "inseam",
        "kind": "change",
        "table": "verdicts",
        "row_pk": change.pk,
        "workshop_pk": factories.WorkshopFactory().pk,
        "sheet_pk": line.job_sheet_id,
        "line_pk": line.pk,
    }
    own = {page.name: {"pk": client} for page in PAGES if page.name in ABOUT_A_CLIENT}
    own |= {page.name: {"pk": check} for page in PAGES if page.name.startswith("desk_check:")}
    own |= {page.name: {"pk": change.fit_record.fit_session_id} for page in PAGES if page.name.startswith("bench:")}
    own |= {"desk:send_again": {"pk": mail.pk}, "desk:attachment": {"pk": attachment.pk}}
    own |= {"check:place": {"key": "neck"}, "desk_check:place": {"pk": check, "key": "neck"}}
    own |= {page.name: {"token": job_link.token} for page in WORKSHOP_PAGES}
    editions_of_the_catalogue()
    own |= {"catalogue:remove": {"key": "own_rack"}, "catalogue:check": {"key": "gears"}}
    own["rider:fit_sheet"] = own["rider:fit_sheet_pdf"] = {"token": closed_link(fit_session).token}
    fixed, photo = reported_fixed(fit_session)
    own |= {name: {"token": fixed.token} for name in ("check:fixed", "check:came_back")}
    own["check:photo"] = {"token": fixed.token, "photo_pk": photo.pk}
    own["desk_check:photo"] = {"pk": fixed.pre_visit_id, "photo_pk": photo.pk}
    own["review:repair"] = {"pk": fixed.pre_visit.fit_session.pk}
    repaired = eased_after_a_repair(fit_session)
    own |= {name: {"token": repaired.token} for name in ("check:few", "check:outcomes")}
    own |= {"check:outcome": {"token": repaired.token, "key": "knee_front-left"}}
    own |= {"review:offer": {"pk": repaired.pre_visit.fit_session.pk}}
    return common | own


def eased_after_a_repair(like):
    """The link to a further session of the same rider, whose knee eased after a repair and who was asked for an answer."""
    pre_visit = factories.PreVisitCheckFactory(bike=like.bike)
    factories.FitSessionFactory(studio=like.studio, pre_visit=pre_visit, occupancy=False)
    factories.CheckAnswerFactory(pre_visit=pre_visit, check_key="pedal_rock", option="rocks_left")
    factories.DiscomfortFactory(pre_visit=pre_visit, area="knee_front", side="left", score=6)
    pre_visit.decisions.create(finding_key="pedal_rock.rocks", ruling="fixed")
    said = {"finding_key": "pedal_rock.rocks", "rode": True, "score_before": 6, "score_now": 1}
    pre_visit.outcomes.create(area="knee_front", side="left", **said)
    pre_visit.question_requests.create(check_keys=["saddle_shell"])
    return factories.RiderLinkFactory(pre_visit=pre_visit)


def reported_fixed(like):
    """The link to a further session of the same rider, who has reported a repair with a photo."""
    pre_visit = factories.PreVisitCheckFactory(bike=like.bike)
    factories.FitSessionFactory(studio=like.studio, pre_visit=pre_visit, occupancy=False)
    factories.CheckAnswerFactory(pre_visit=pre_visit, check_key="post_slides", option="stuck")
    photo = factories.PhotoFactory(pre_visit=pre_visit)
    factories.RepairReportFactory(pre_visit=pre_visit, photo=photo)
    return factories.RiderLinkFactory(pre_visit=pre_visit), photo


def recorded(like, *, state, **record):
    """A further session of the same rider whose fit record has begun, with something in every list."""
    pre_visit = factories.PreVisitCheckFactory(bike=like.bike)
    fit_session = factories.FitSessionFactory(studio=like.studio, pre_visit=pre_visit, state=state, occupancy=False)
    made = factories.FitRecordFactory(fit_session=fit_session, **record)
    for phase, height in (("before", 720), ("after", 731)):
        taken = {"quantity": "saddle_height", "value": height, "sigma": 1.5, "instrument": "tape", "as_typed": height}
        made.readings.create(phase=phase, **taken)
    made.component_changes.create(component="stem", was="100 mm", now="90 mm", request_key="a")
    made.parts_to_order.create(part="Cleats", request_key="a")
    return made


def editions_of_the_catalogue():
    """One edition before, one in force and a draft that adds a check, so that every form of their pages is there."""
    factories.CatalogueEditionFactory(number=1, state="retired", overlay={"off": ["gears"]})
    factories.CatalogueEditionFactory(number=2, overlay={"checks": {"crash": {"title": "Falls"}}})
    factories.CatalogueEditionFactory(number=3, state="draft", published_at=None, overlay=factories.OWN_CHECK_OVERLAY)


def closed_link(like):
    """The private link to a session whose record is closed, so that its sheet can be seen."""
    record = recorded(like, state="done", closed_at=timezone.now() + timedelta(hours=1))
    return factories.RiderLinkFactory(pre_visit=record.fit_session.pre_visit)


def job_for_a_workshop(fit_session):
    """A line of a job sheet, whose finding the rider's answer shows, and the workshop's link to it."""
    factories.CheckAnswerFactory(pre_visit=fit_session.pre_visit, check_key="post_slides", option="stuck")
    line = factories.JobLineFactory(job_sheet__pre_visit=fit_session.pre_visit)
    return line, factories.JobLinkFactory(job_sheet=line.job_sheet)

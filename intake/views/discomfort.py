"""What hurts, where, on which side and how much: on a figure and as a list, for the rider and for the desk."""

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.utils import timezone
from django.utils.translation import gettext as _

from intake.edge.http import HtmxRequest
from intake.forms.discomfort import DiscomfortForm
from intake.selectors.discomfort import BodyMap, Place, body_map
from intake.selectors.previsit import DISCOMFORT, CheckList, check_list
from intake.services.discomfort import (
    Felt,
    StillHurtsError,
    forget_discomfort,
    save_discomfort,
    say_nothing_hurts,
)
from intake.views.door import Door, show, until_the_slot
from intake.views.stops import has_stopped, show_stop


@until_the_slot
def discomfort_page(request: HtmxRequest, door: Door) -> HttpResponse:
    """Show the figure and the list; a post says that nothing hurts, or goes on."""
    checks = check_list(door.pre_visit, door.slot)
    body = body_map(checks.told, checks.given.catalogue)
    if request.method == "POST":
        return _nothing_hurts(request, door, body)
    if has_stopped(door, checks):
        return show_stop(request, door, checks)
    context = {"checks": checks, "body": body, "before": checks.before(DISCOMFORT), "after": checks.after(DISCOMFORT)}
    return show(request, door, "discomfort.html", context | {"number": checks.number(DISCOMFORT)})


def _nothing_hurts(request: HtmxRequest, door: Door, body: BodyMap) -> HttpResponse:
    try:
        say_nothing_hurts(pre_visit=door.pre_visit, session_slot=door.slot)
    except StillHurtsError:
        messages.error(request, _("A place is still marked as hurting. Set it to 0 first if it no longer does."))
        return door.go("discomfort")
    following = check_list(door.pre_visit, door.slot).next_open(DISCOMFORT)
    return door.go("question", following.key) if following else door.go("finish")


@until_the_slot
def place_page(request: HtmxRequest, door: Door, key: str) -> HttpResponse:
    """Show one place of the body, or keep how it feels."""
    checks = check_list(door.pre_visit, door.slot)
    place = _find(body_map(checks.told, checks.given.catalogue), key)
    if request.method != "POST" and has_stopped(door, checks):
        return show_stop(request, door, checks)
    if request.method != "POST":
        return _show_place(request, door, checks, place, DiscomfortForm(row=place.row))
    if "forget" in request.POST:
        forget_discomfort(pre_visit=door.pre_visit, session_slot=door.slot, area=place.area, side=place.side)
        return door.go("discomfort")
    form = DiscomfortForm(row=place.row, data=request.POST)
    return _keep(request, door, checks, place, form)


def _find(body: BodyMap, key: str) -> Place:
    try:
        return body.place(key)
    except KeyError:
        raise Http404 from None


def _keep(request: HtmxRequest, door: Door, checks: CheckList, place: Place, form: DiscomfortForm) -> HttpResponse:
    valid = form.is_valid()
    if form.kept_score is not None:
        felt = Felt(form.kept_score, form.kept_after_min, form.kept_note)
        save_discomfort(pre_visit=door.pre_visit, session_slot=door.slot, area=place.area, side=place.side, felt=felt)
    if request.htmx:
        context = {"form": form, "place": place, "saved_at": timezone.now(), "swapped": True}
        return show(request, door, "_place_saved.html", context, status=422 if form.has_refusals else 200)
    if not valid:
        return _show_place(request, door, checks, place, form, status=422)
    return door.go("place", place.key) if form.newly_severe else door.go("discomfort")


def _show_place(
    request: HtmxRequest, door: Door, checks: CheckList, place: Place, form: DiscomfortForm, status: int = 200
) -> HttpResponse:
    return show(request, door, "place.html", {"form": form, "place": place, "checks": checks}, status=status)

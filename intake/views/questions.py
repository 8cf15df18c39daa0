"""One question at a time, or all of them on one page, for the rider and for the desk."""

from django.http import Http404, HttpResponse
from django.utils import timezone

from intake.catalogue.schema import Check
from intake.edge.http import HtmxRequest
from intake.forms.answers import AnswerForm
from intake.models.clients import LengthUnit
from intake.selectors.catalogue import current_catalogue
from intake.selectors.previsit import CheckList, check_list
from intake.services.answers import Given, choose_unit, save_answer
from intake.triage.page_order import is_clinical
from intake.views.door import Door, show, until_the_slot
from intake.views.stops import has_stopped, show_stop
from intake.views.ways import go_on, way_of

SHEET = "sheet"


class NotAskedError(Exception):
    """The question exists, but not for this bike or not after these answers."""


def sheet_page(request: HtmxRequest, door: Door) -> HttpResponse:
    """Show every question on one page, each with its own form: for a telephone call, and for riders who know their bike."""
    checks = check_list(door.pre_visit, door.slot)
    if has_stopped(door, checks):
        return show_stop(request, door, checks)
    return show(request, door, "sheet.html", {"checks": checks, "forms": _sheet(door, checks)})


def _sheet(door: Door, checks: CheckList) -> list[dict[str, object]]:
    return [_form_context(checks, answer_form(door, checks, check)) for check in checks.asked]


@until_the_slot
def question_page(request: HtmxRequest, door: Door, key: str) -> HttpResponse:
    """Show one question, or keep its answer."""
    checks = check_list(door.pre_visit, door.slot)
    try:
        check = find_check(checks, key)
    except NotAskedError:
        return show(request, door, "not_asked.html", status=422 if request.method == "POST" else 404)
    if request.method == "POST":
        return _answer(request, door, checks, check)
    if has_stopped(door, checks) and not is_clinical(check):
        return show_stop(request, door, checks)
    return _show_question(request, door, checks, answer_form(door, checks, check))


def find_check(checks: CheckList, key: str) -> Check:
    """Return an asked check; a 404 for a key that no check has, NotAskedError for one that is not asked here."""
    try:
        return checks.check(key)
    except KeyError:
        if key not in {check.key for check in current_catalogue().checks}:
            raise Http404 from None
        raise NotAskedError from None


def answer_form(door: Door, checks: CheckList, check: Check, **kwargs: object) -> AnswerForm:
    """Return the form of one check around what is stored."""
    return AnswerForm(check, unit=door.unit, stored=checks.told.answers.get(check.key), **kwargs)


def _show_question(
    request: HtmxRequest, door: Door, checks: CheckList, form: AnswerForm, status: int = 200
) -> HttpResponse:
    way = way_of(request, door, checks, form.check.key)
    context = _question_context(checks, form) | {"way": way, "stopped": has_stopped(door, checks)}
    return show(request, door, "question.html", context, status=status)


def _question_context(checks: CheckList, form: AnswerForm) -> dict[str, object]:
    return {"checks": checks} | _form_context(checks, form)


def _form_context(checks: CheckList, form: AnswerForm) -> dict[str, object]:
    key = form.check.key
    return {
        "check": form.check,
        "form": form,
        "words": next(step.words for step in checks.steps if step.key == key),
        "warnings": checks.warnings(key),
        "other_unit": next(unit for unit in LengthUnit if unit != form.length_unit),
    }


def _answer(request: HtmxRequest, door: Door, before: CheckList, check: Check) -> HttpResponse:
    form = answer_form(door, before, check, data=request.POST)
    valid = form.is_valid()
    if valid or form.keeps_something or request.htmx:
        _save(door, check, form)
    checks = check_list(door.pre_visit, door.slot)
    if check not in checks.asked:
        # Another tab has answered what this question hangs on.
        return HttpResponse(status=409) if request.htmx else door.go("start")
    if request.htmx:
        return _say_saved(request, door, before, checks, form)
    if request.POST.get("switch_unit") in LengthUnit.values and not form.has_refusals:
        choose_unit(client=door.pre_visit.client, unit=request.POST["switch_unit"])
        return door.go("question", check.key, query=way_of(request, door, checks, check.key).here)
    if not valid:
        return _show_question(request, door, checks, form, status=422)
    return _go_on(request, door, before, checks, check)


def _save(door: Door, check: Check, form: AnswerForm) -> None:
    given = Given(form.kept_option, form.kept_lengths_mm, form.kept_note)
    save_answer(pre_visit=door.pre_visit, session_slot=door.slot, check=check, given=given, by=door.by)


def _say_saved(
    request: HtmxRequest, door: Door, before: CheckList, checks: CheckList, form: AnswerForm
) -> HttpResponse:
    context = _question_context(checks, form) | {"saved_at": timezone.now(), "swapped": True}
    if request.POST.get("back") == SHEET and checks.asked != before.asked:
        context["forms"] = _sheet(door, checks)
    return show(request, door, "_saved.html", context, status=422 if form.has_refusals else 200)


def _go_on(request: HtmxRequest, door: Door, before: CheckList, checks: CheckList, check: Check) -> HttpResponse:
    """Go to the next step; stay where the answer brought up a warning, so that it is read first."""
    if request.POST.get("back") == SHEET:
        return door.go(SHEET, fragment=check.key)
    way = way_of(request, door, checks, check.key)
    known = {finding.key for finding in before.warnings(check.key)}
    if any(finding.key not in known for finding in checks.warnings(check.key)):
        return door.go("question", check.key, fragment=f"warnings-{check.key}", query=way.here)
    return go_on(door, way)

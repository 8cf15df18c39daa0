"""Where a sign belongs with a clinician the check stops: advice first, and a way to correct what was mistyped."""

from django.http import HttpResponse

from intake.edge.http import HtmxRequest
from intake.selectors.advice import advice_of
from intake.selectors.previsit import CheckList
from intake.selectors.red_flags import open_flags_of
from intake.views.door import Door, show


def has_stopped(door: Door, checks: CheckList) -> bool:
    """Return whether a red flag stands that the studio has not read yet.

    Once it is read, and what was agreed is noted, the rider may go on with the bike; the advice stays on top. The desk is not kept
    from its pages: it is the one that speaks to the rider.
    """
    return not door.is_desk and bool(open_flags_of(checks.pre_visit, checks.triage, checks.told))


def stop_context(door: Door, checks: CheckList) -> dict[str, object]:
    """Return what a page says of a stop: whether there is one, the advice, and the checks in which it can be corrected."""
    return {"stopped": has_stopped(door, checks)} | _advice(checks)


def _advice(checks: CheckList) -> dict[str, object]:
    return {
        "advice": advice_of(checks.triage, checks.given.catalogue),
        "raised": tuple({flag.finding.check.key: flag.finding.check for flag in checks.triage.red_flags}.values()),
    }


def show_stop(request: HtmxRequest, door: Door, checks: CheckList) -> HttpResponse:
    """Show the advice in place of a question."""
    return show(request, door, "stop.html", {"checks": checks} | _advice(checks))

"""The start page of a check: how far it is, the ways through it, and what the desk has asked for."""

from django.http import HttpResponse

from intake.edge.http import HtmxRequest
from intake.selectors.previsit import CheckList, Step, check_list
from intake.selectors.question_requests import few_questions
from intake.selectors.short_way import FIVE_MIN, TEN_MIN, short_way
from intake.views.door import Door, show
from intake.views.stops import stop_context
from intake.views.ways import FIVE, SHORT


def start_page(request: HtmxRequest, door: Door) -> HttpResponse:
    """Show what the check is for, how far it is, and every step with what was answered."""
    checks = check_list(door.pre_visit, door.slot)
    few = None if door.is_desk else few_questions(checks)
    context = {"checks": checks, "few": few, "ways": _ways(checks)} | stop_context(door, checks)
    return show(request, door, "start.html", context)


def _ways(checks: CheckList) -> list[tuple[str, int, int, tuple[Step, ...]]]:
    """Return the short ways that leave something out: name, minutes as one says them and as they are counted, questions."""
    ways = [(FIVE, 5, FIVE_MIN, short_way(checks, FIVE_MIN)), (SHORT, 10, TEN_MIN, short_way(checks, TEN_MIN))]
    offered = [way for way in ways if way[-1]]
    return offered[:1] if len({way[-1] for way in offered}) == 1 else offered

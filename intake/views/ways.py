"""The ways through a check: all of it, as much as fits into five or ten minutes, or the few questions that the desk asked for."""

import re
from dataclasses import dataclass
from functools import cached_property
from urllib.parse import urlencode

from django.http import HttpResponse

from intake.edge.http import HtmxRequest
from intake.selectors.previsit import LAST, CheckList, Step
from intake.selectors.question_requests import FewQuestions, few_questions
from intake.selectors.short_way import next_telling
from intake.views.door import Door

WHOLE, FIVE, SHORT, FEW = "", "five", "short", "few"
TIMED = (FIVE, SHORT)
MINUTES = re.compile(r"[0-9]{1,2}(\.[0-9])?")


@dataclass(frozen=True)
class Way:
    """The way that a request names, seen from one question of it; ``left`` is how many minutes a timed way has for it and the rest."""

    checks: CheckList
    name: str
    key: str
    then: str = ""
    left: float | None = None

    @property
    def is_timed(self) -> bool:
        """Return whether it asks for as much as fits into some minutes."""
        return self.name in TIMED

    @property
    def is_few(self) -> bool:
        """Return whether it asks for what the desk wants to know."""
        return self.name == FEW

    @cached_property
    def few(self) -> FewQuestions:
        """Return what the desk asked for."""
        return few_questions(self.checks)

    @cached_property
    def before(self) -> Step | None:
        """Return the page before this one."""
        if self.is_few:
            return self.few.before(self.key)
        return None if self.is_timed else self.checks.before(self.key)

    @cached_property
    def after(self) -> Step | None:
        """Return the page to which one passes on without an answer."""
        if self.is_timed:
            return next_telling(self.checks, self.key, left=self.left_then)
        return self.few.after(self.key) if self.is_few else self.checks.after(self.key)

    @property
    def names_next(self) -> str:
        """Return what the page of this question names as the next one; a refused answer keeps what was named."""
        if self.then:
            return self.then
        if self.is_timed:
            return self.after.key if self.after else LAST
        return "" if self.is_few else self.checks.leads_on_to(self.key)

    @property
    def goes_on_to(self) -> Step | None:
        """Return where an answer leads."""
        if self.is_timed:
            return None if self.then == LAST else next_telling(self.checks, self.key, self.then, self.left_then)
        return self.few.after(self.key) if self.is_few else self.checks.next_open(self.key, self.then)

    @property
    def end(self) -> str:
        """Return the page at which it ends."""
        return FEW if self.is_few else "finish"

    @property
    def here(self) -> str:
        """Return what the address of this question carries."""
        return self._query(self.left)

    @property
    def further(self) -> str:
        """Return what the address of the next question carries."""
        return self._query(self.left_then)

    @cached_property
    def left_then(self) -> float | None:
        """Return how many minutes are left after this question."""
        if self.left is None:
            return None
        return max(0.0, self.left - next(step.home_min for step in self.checks.steps if step.key == self.key))

    def _query(self, left: float | None) -> str:
        said = {"way": self.name} if self.name else {}
        return f"?{urlencode(said | ({'left': f'{left:g}'} if left is not None else {}))}" if said else ""


def way_of(request: HtmxRequest, door: Door, checks: CheckList, key: str) -> Way:
    """Return the way that a request names; one that does not exist is the whole one."""
    said = request.POST if request.method == "POST" else request.GET
    name = said.get("way", WHOLE)
    known = name in (*TIMED, FEW) and not (door.is_desk and name == FEW)
    return Way(checks, name if known else WHOLE, key, then=said.get("then", ""), left=_left(said.get("left", "")))


def _left(typed: str) -> float | None:
    """Return the minutes that an address carries; None where it carries nothing of the kind."""
    return float(typed) if MINUTES.fullmatch(typed) else None


def go_on(door: Door, way: Way) -> HttpResponse:
    """Send the browser where an answer leads, or to the last page where nothing is left."""
    step = way.goes_on_to
    return door.go(way.end) if step is None else door.go("question", step.key, query=way.further)

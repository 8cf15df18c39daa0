"""The few open questions that decide about a session: what each answer would change, and whether the rider was asked."""

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from intake.models import QuestionRequest
from intake.triage.asking import EVEN, Outcome, Question
from intake.triage.deciding import MOST_QUESTIONS, deciding
from intake.triage.engine import Triage
from sessions.selectors.review.words import percent_words


@dataclass(frozen=True)
class IfSo:
    """One way a question can turn out, and what the session would be then."""

    what: str
    likelihood: str
    chance: str
    can_be_held: bool


@dataclass(frozen=True)
class QuestionShown:
    """A question with what each of its answers would change."""

    key: str
    title: str
    outcomes: tuple[IfSo, ...]


@dataclass(frozen=True)
class RequestShown:
    """What the rider was asked, and how much of it is answered."""

    request: QuestionRequest
    done: int
    total: int


@dataclass(frozen=True)
class DecidingShown:
    """The questions to ask, why these, and every request so far, the newest first."""

    heading: str
    text: str
    questions: tuple[QuestionShown, ...]
    requests: tuple[RequestShown, ...]

    @property
    def keys(self) -> str:
        """Return the questions as a form carries them."""
        return " ".join(question.key for question in self.questions)

    @property
    def seen(self) -> int:
        """Return the latest request as a form names it."""
        return self.requests[0].request.pk if self.requests else 0

    @property
    def waits(self) -> bool:
        """Return whether an answer to the latest request is still to come."""
        return bool(self.requests) and self.requests[0].done < self.requests[0].total


def deciding_shown(triage: Triage, requests: list[QuestionRequest]) -> DecidingShown:
    """Return what decides about a session, or what tells most where nothing that is open decides by itself; it reads nothing."""
    found = deciding(triage)
    questions = found.questions or triage.questions[:MOST_QUESTIONS]
    return DecidingShown(
        heading=_heading(len(questions), decides=found.decides),
        text=found.text
        if found.decides
        else _("No few answers turn the decision; these say most about how the session would go."),
        questions=tuple(_question(question) for question in questions),
        requests=tuple(_request(request, triage) for request in requests),
    )


def _heading(count: int, *, decides: bool) -> str:
    if decides:
        words = ngettext("This question decides it", "These %(count)d questions decide it", count)
    else:
        words = ngettext("This question tells most", "These %(count)d questions tell most", count)
    return words % {"count": count}


def _question(question: Question) -> QuestionShown:
    titles = {fault.key: fault.title.rstrip(". ") for fault in question.check.faults}
    return QuestionShown(
        key=question.check.key,
        title=question.check.title.rstrip(". "),
        outcomes=tuple(_if_so(each, titles) for each in question.outcomes),
    )


def _if_so(outcome: Outcome, titles: dict[str, str]) -> IfSo:
    likely_pct = 100 * outcome.probability
    return IfSo(
        what=titles.get(outcome.fault, outcome.fault) if outcome.fault else _("nothing wrong"),
        likelihood=percent_words(likely_pct) if likely_pct >= 1 else _("under 1 %"),
        chance=percent_words(100 * outcome.good),
        can_be_held=outcome.good >= EVEN,
    )


def _request(request: QuestionRequest, triage: Triage) -> RequestShown:
    asked = [check.key for check in triage.asked if check.key in request.keys]
    waiting = {unknown.check.key for unknown in triage.unknowns if not unknown.could_not}
    return RequestShown(request, done=sum(key not in waiting for key in asked), total=len(asked))

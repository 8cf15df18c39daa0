"""The check as it is printed for a rider who would rather write: every question that may be asked of this bike, as plain values."""

from dataclasses import dataclass, replace
from math import ceil

from django.utils.translation import gettext as _

from intake.catalogue.schema import Catalogue, Check, Condition, Group
from intake.edge.words import GROUP_LABELS, UNIT_LABELS, answer_labels
from intake.models import PreVisitCheck
from intake.selectors.triage import Told, bike_facts
from intake.triage.answers import BikeFacts
from intake.triage.asking import asked_checks


@dataclass(frozen=True)
class PaperLength:
    """A length to write down, with its unit."""

    label: str
    unit: str


@dataclass(frozen=True)
class PaperQuestion:
    """One question: when it applies, what to look at, why, how, with what, and the answers to tick."""

    title: str
    question: str
    only_if: str
    why: str
    steps: tuple[str, ...]
    tools: tuple[str, ...]
    minutes: int
    caution: str
    answers: tuple[str, ...]
    lengths: tuple[PaperLength, ...]


@dataclass(frozen=True)
class PaperPart:
    """The questions about one part of the bike."""

    title: str
    questions: tuple[PaperQuestion, ...]


@dataclass(frozen=True)
class PaperPlace:
    """A body area to mark from 0 to 10; a sided one left and right."""

    label: str
    sided: bool


@dataclass(frozen=True)
class PaperCheck:
    """The whole check of one rider and bike."""

    title: str
    rider: str
    bike: str
    unit: str
    parts: tuple[PaperPart, ...]
    places: tuple[PaperPlace, ...]

    @property
    def minutes(self) -> int:
        """Return about how long all questions take."""
        return sum(question.minutes for part in self.parts for question in part.questions)


def paper_check(pre_visit: PreVisitCheck, catalogue: Catalogue) -> PaperCheck:
    """Return the questions for paper; it reads nothing that did not come with the check.

    Paper cannot unlock a question, so those that hang on an earlier answer are all there, each saying when it applies.
    """
    bike, unit = bike_facts(pre_visit, Told(), catalogue), pre_visit.client.length_unit
    may_be_asked = [check for check in catalogue.checks if _may_be_asked(check, bike, catalogue)]
    by_key = {check.key: check for check in may_be_asked}
    parts = [
        PaperPart(str(GROUP_LABELS[group]), tuple(_question(check, unit, by_key) for check in found))
        for group in Group
        if (found := [check for check in may_be_asked if check.group is group])
    ]
    return PaperCheck(
        title=_("Bike check at home"),
        rider=pre_visit.client.name,
        bike=pre_visit.bike.name,
        unit=unit,
        parts=tuple(parts),
        places=tuple(PaperPlace(area.label, area.sided) for area in catalogue.areas),
    )


def _may_be_asked(check: Check, bike: BikeFacts, catalogue: Catalogue) -> bool:
    """Return whether some answers would bring the question up: only what is known of the bike can rule it out."""
    alone = replace(check, conditions=tuple(each for each in check.conditions if _checked(each) is None))
    return bool(asked_checks(replace(catalogue, checks=(alone,)), bike, {}))


def _checked(condition: Condition) -> str | None:
    """Return the key of the check on whose answer a condition hangs, None where it hangs on the bike."""
    subject, _dot, name = condition.subject.partition(".")
    return name if subject == "answer" else None


def _question(check: Check, unit: str, asked: dict[str, Check]) -> PaperQuestion:
    return PaperQuestion(
        title=check.title,
        question=check.question,
        only_if=" ".join(_only_if(check, asked)),
        why=check.why,
        steps=check.steps,
        tools=check.tools,
        minutes=ceil(check.home_min),
        caution=check.caution,
        answers=tuple(answer_labels(check).values()),
        lengths=tuple(PaperLength(number.label, str(UNIT_LABELS[unit])) for number in check.numbers),
    )


def _only_if(check: Check, asked: dict[str, Check]) -> list[str]:
    """Return when the question applies, by each answer of another printed question that it hangs on."""
    sentences = []
    for condition in check.conditions:
        other = asked.get(_checked(condition) or "")
        if other is not None:
            words = {"answers": _listed(condition, other), "title": other.title}
            pattern = (
                _("Leave this out if “%(title)s” is %(answers)s.")
                if condition.unless
                else _("Only if “%(title)s” is %(answers)s.")
            )
            sentences.append(pattern % words)
    return sentences


def _listed(condition: Condition, check: Check) -> str:
    labels = answer_labels(check)
    return _(" or ").join(f"“{labels[key]}”" for key in condition.among)

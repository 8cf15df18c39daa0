"""What the fitter reads about each check without an answer."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from intake.catalogue.schema import Group
from intake.models import FindingDecision
from intake.triage.asking import Question
from intake.triage.engine import Triage
from intake.triage.findings import Unknown
from sessions.selectors.review.asking import asking_order, gravest_hazard
from sessions.selectors.review.given_answers import GivenAnswer, Record, slug_of
from sessions.selectors.review.rulings import Choice, ruling_words, unknown_choices
from sessions.selectors.review.words import percent_words


@dataclass(frozen=True)
class UnknownCard:
    """A check without an answer, and what its answer is worth."""

    unknown: Unknown
    question: Question | None
    answer: GivenAnswer | None
    choices: tuple[Choice, ...]
    in_force: FindingDecision | None

    @property
    def key(self) -> str:
        """Return the check's key."""
        return self.unknown.check.key

    @property
    def title(self) -> str:
        """Return what the check is called."""
        return self.unknown.check.title

    @property
    def ruled(self) -> str:
        """Return the decision that holds in words, empty where there is none."""
        return ruling_words(self.key, self.in_force.ruling) if self.in_force else ""

    @property
    def slug(self) -> str:
        """Return the key as it stands in ids of the page."""
        return slug_of(self.unknown.check.key)

    @property
    def chance(self) -> str:
        """Return the chance of any fault of the check by the usual rates."""
        chance_pct = 100 * self.unknown.chance
        return percent_words(chance_pct) if chance_pct >= 1 else _("fewer than 1 %")

    @property
    def is_about_rider(self) -> bool:
        """Return whether it asks for the rider rather than the bike."""
        return self.unknown.check.group is Group.RIDER

    @property
    def is_for_safety(self) -> bool:
        """Return whether one of its faults could hurt somebody."""
        return gravest_hazard(self.unknown.check) > 0

    @property
    def gain(self) -> str:
        """Return by how much asking raises the chance of a right decision; empty where by less than one percent."""
        gain_pct = 100 * self.question.gain if self.question else 0.0
        return percent_words(gain_pct) if gain_pct >= 1 else ""


def unknown_cards(triage: Triage, record: Record) -> tuple[UnknownCard, ...]:
    """Return a card for each check without an answer, in the order in which to ask."""
    questions = {question.check.key: question for question in triage.questions}
    unknowns = {unknown.check.key: unknown for unknown in triage.unknowns}
    return tuple(
        UnknownCard(
            unknown=unknowns[check.key],
            question=questions.get(check.key),
            answer=record.answer(check),
            choices=unknown_choices(check, unknowns[check.key].ruling),
            in_force=record.in_force(check.key),
        )
        for check in asking_order(triage)
    )

"""What the fitter reads about each finding."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from intake.catalogue.schema import Adjustment, Freedom, Who
from intake.models import FindingDecision
from intake.triage.agenda import LateChoice, late_options
from intake.triage.answers import Ruling
from intake.triage.deadlines import DatedRemedy
from intake.triage.engine import Triage
from intake.triage.findings import Finding
from sessions.models.studios import ADJUSTMENT_LABELS
from sessions.selectors.review.given_answers import GivenAnswer, Record, slug_of
from sessions.selectors.review.rulings import Choice, finding_choices, ruling_words
from sessions.selectors.review.words import day_words, percent_words

WHO_DOES_IT = {
    Who.RIDER: gettext_lazy("rider"),
    Who.WORKSHOP: gettext_lazy("workshop"),
    Who.STUDIO: gettext_lazy("studio"),
    Who.BRING: gettext_lazy("bring along"),
}
MARKS = {Freedom.LOCKED: "locked", Freedom.LIMITED: "limited", Freedom.FREE: "free"}


@dataclass(frozen=True)
class Effect:
    """An adjustment that a finding locks or limits."""

    adjustment: Adjustment
    mark: str
    label: str
    is_essential: bool


@dataclass(frozen=True)
class WayOut:
    """One way to put a finding right: by whom, what, and by which day it must begin."""

    who: str
    title: str
    part: str
    by: str
    is_late: bool


@dataclass(frozen=True)
class FindingCard:
    """A finding with all that a decision about it needs; ``in_force`` is the decision that holds."""

    finding: Finding
    answer: GivenAnswer | None
    effects: tuple[Effect, ...]
    ways: tuple[WayOut, ...]
    late_words: str
    choices: tuple[Choice, ...]
    in_force: FindingDecision | None

    @property
    def key(self) -> str:
        """Return the finding's key."""
        return self.finding.key

    @property
    def title(self) -> str:
        """Return what the finding is called."""
        return self.finding.title

    @property
    def ruled(self) -> str:
        """Return the decision that holds in words, empty where there is none."""
        return ruling_words(self.key, self.in_force.ruling) if self.in_force else ""

    @property
    def slug(self) -> str:
        """Return the key as it stands in ids of the page."""
        return slug_of(self.finding.key)

    @property
    def likelihood(self) -> str:
        """Return how likely it is, empty where it is sure."""
        return "" if self.finding.sure else percent_words(100 * self.finding.probability)

    @property
    def expected_min(self) -> int:
        """Return the bench minutes that it costs on average, as things stand."""
        return round(self.finding.expected_min)

    @property
    def answered_since(self) -> bool:
        """Return whether the rider answered again after the decision."""
        at = self.answer.at if self.answer else None
        return bool(self.in_force and at and at > self.in_force.decided_at)

    @property
    def is_settled(self) -> bool:
        """Return whether nothing is left of it."""
        return not self.finding.consequence.stands


def finding_cards(triage: Triage, findings: Iterable[Finding], record: Record) -> tuple[FindingCard, ...]:
    """Return a card for each of these findings, in their order."""
    return tuple(_finding_card(finding, triage, record) for finding in findings)


def _finding_card(finding: Finding, triage: Triage, record: Record) -> FindingCard:
    today = triage.slot.today
    return FindingCard(
        finding=finding,
        answer=record.answer(finding.check),
        effects=tuple(_effects(finding, triage.slot.essential)),
        ways=tuple(_way_out(way, today) for way in finding.remedies),
        late_words=late_words(finding, triage.extend_min, today),
        choices=finding_choices(finding),
        in_force=record.in_force(finding.key),
    )


def _effects(finding: Finding, essential: frozenset[Adjustment]) -> Iterable[Effect]:
    held = [(freedom, each) for each, freedom in finding.effects.items() if freedom is not Freedom.FREE]
    for freedom, each in sorted(
        held, key=lambda pair: (-pair[0], pair[1] not in essential, list(Adjustment).index(pair[1]))
    ):
        yield Effect(each, MARKS[freedom], str(ADJUSTMENT_LABELS[each]), each in essential)


def _way_out(way: DatedRemedy, today: date) -> WayOut:
    remedy = way.remedy
    return WayOut(str(WHO_DOES_IT[remedy.who]), remedy.title, remedy.part, day_words(way.fix_by, today), way.late)


def late_words(finding: Finding, extra_min: int | None, today: date) -> str:
    """Return what is left where every remedy comes too late, as one line; empty where one is in time."""
    if finding.ruling in {Ruling.FIXED, Ruling.NOT_A_FAULT}:
        return ""
    words = []
    for option in late_options(finding, extra_min):
        if option.choice is LateChoice.MOVE and option.move_to:
            words.append(_("move to %(day)s or later") % {"day": date_format(option.move_to, "D j M")})
        elif option.choice is LateChoice.EXTEND:
            words.append(_("make the session %(minutes)d minutes longer") % {"minutes": option.extra_min})
        elif option.choice is LateChoice.AT_BENCH:
            words.append(_("do it at the bench"))
        elif option.choice is LateChoice.ACCEPT:
            words.append(_("accept it"))
    return ", ".join(words)

"""How far the rider's check has come, what it says so far, and by when it is of most use."""

from dataclasses import dataclass
from datetime import date
from functools import cached_property

from intake.catalogue.schema import Catalogue
from intake.models import PreVisitCheck
from intake.selectors.advice import Advice, advice_of
from intake.selectors.outcomes import AfterRepair, after_repairs
from intake.selectors.previsit import CheckList, check_list
from intake.selectors.question_requests import FewQuestions, few_questions
from intake.selectors.red_flags import open_flags_of
from intake.selectors.triage import MONDAY_TO_FRIDAY
from intake.slots import SessionSlot
from intake.triage.answers import Slot
from intake.triage.deadlines import fix_by
from intake.triage.errors import NoWorkingDayError


@dataclass(frozen=True)
class Preparation:
    """The check of one session as its rider's home page and mails speak of it."""

    checks: CheckList
    answer_by: date | None
    is_changeable: bool

    @property
    def is_begun(self) -> bool:
        """Return whether anything is answered."""
        return self.checks.done > 0

    @property
    def is_complete(self) -> bool:
        """Return whether nothing is left to answer."""
        return self.checks.done == self.checks.total

    @property
    def is_submitted(self) -> bool:
        """Return whether the check was handed in."""
        return self.checks.pre_visit.submitted_at is not None

    @cached_property
    def advice(self) -> Advice:
        """Return what the answers so far ask of the rider."""
        return advice_of(self.checks.triage, self.checks.given.catalogue)

    @cached_property
    def few(self) -> FewQuestions:
        """Return what the desk has asked for besides the whole check."""
        return few_questions(self.checks)

    @cached_property
    def to_tell(self) -> tuple[AfterRepair, ...]:
        """Return the places that hurt and are asked about again after a repair."""
        return tuple(each for each in after_repairs(self.checks.pre_visit, self.checks.given) if each.is_due)

    @cached_property
    def has_stopped(self) -> bool:
        """Return whether a red flag stands that the studio has not read yet."""
        return bool(open_flags_of(self.checks.pre_visit, self.checks.triage, self.checks.told))


def preparation_of(pre_visit: PreVisitCheck, session_slot: SessionSlot) -> Preparation:
    """Return how far one check has come: four queries."""
    checks = check_list(pre_visit, session_slot)
    return Preparation(
        checks=checks,
        answer_by=answer_by(session_slot.slot, checks.given.catalogue),
        is_changeable=session_slot.changeable,
    )


def answer_by(slot: Slot, catalogue: Catalogue) -> date | None:
    """Return the last day on which every remedy of the catalogue still fits before the slot; None where it has passed."""
    longest = max((remedy.lead_days for remedy in catalogue.remedies.values()), default=0)
    try:
        by = fix_by(slot.starts_on, longest, slot.working_days)
    except NoWorkingDayError:
        by = fix_by(slot.starts_on, longest, MONDAY_TO_FRIDAY)
    return by if by >= slot.today else None

"""A rider's check as its pages show it: which steps there are, what was answered, how much is left."""

from dataclasses import dataclass
from functools import cached_property
from math import ceil

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from intake.catalogue.schema import COULD_NOT, Check, Group, Hazard
from intake.edge.words import GROUP_LABELS, answer_words
from intake.models import CheckAnswer, PreVisitCheck
from intake.selectors.catalogue import current_catalogue
from intake.selectors.triage import Told, input_of, judge, told_of
from intake.slots import SessionSlot
from intake.triage.answers import TriageInput
from intake.triage.asking import asked_checks
from intake.triage.beliefs import can_answer
from intake.triage.engine import Triage
from intake.triage.findings import Finding
from intake.triage.page_order import is_clinical, page_order

DISCOMFORT = "discomfort"  # no check of the catalogue may have this key
DISCOMFORT_MIN = 3
LAST = "finish"  # what a page names where nothing is left after it


@dataclass(frozen=True)
class Step:
    """One thing on the rider's list: a check, or the page about what hurts; both have their key in their address."""

    key: str
    title: str
    group: Group
    home_min: float
    done: bool
    words: str


@dataclass(frozen=True)
class StepGroup:
    """The steps of one part of the list."""

    label: str
    steps: tuple[Step, ...]

    @property
    def done(self) -> int:
        """Return how many steps are done."""
        return sum(step.done for step in self.steps)


@dataclass(frozen=True)
class CheckList:
    """Everything that the pages of one check are made from, read once."""

    pre_visit: PreVisitCheck
    told: Told
    given: TriageInput

    @cached_property
    def asked(self) -> tuple[Check, ...]:
        """Return the checks that apply, in the catalogue's order, which no answer changes."""
        return asked_checks(self.given.catalogue, self.given.bike, self.given.answers)

    @cached_property
    def in_order(self) -> tuple[Check, ...]:
        """Return the checks that apply in the order of the pages: in each group what was answered, then what is worth most."""
        given_at = [
            (self.told.answers[check.key].answered_at, check.key) for check in self.asked if self.is_done(check)
        ]
        answered = [key for _at, key in sorted(given_at, key=lambda given: given[0])]
        return page_order(self.given.catalogue, self.asked, self.triage.questions, answered)

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        """Return the checks that apply as steps, what hurts after the last one about the rider."""
        steps = [self._step(check) for check in self.in_order]
        place = sum(step.group is Group.RIDER for step in steps)
        return (*steps[:place], self._discomfort_step(), *steps[place:])

    def _step(self, check: Check) -> Step:
        row = self.told.answers.get(check.key)
        return Step(check.key, check.title, check.group, check.home_min, self.is_done(check), self._words(check, row))

    def _words(self, check: Check, row: CheckAnswer | None) -> str:
        return answer_words(check, row, self.pre_visit.client.length_unit) if row else ""

    def _discomfort_step(self) -> Step:
        hurting = [row for row in self.told.discomforts if row.score > 0]
        words = _("nothing hurts") if self.pre_visit.no_discomfort else ""
        if hurting:
            marked = ngettext(
                "%(count)d place marked, %(score)d of 10",
                "%(count)d places marked, the worst %(score)d of 10",
                len(hurting),
            )
            words = marked % {"count": len(hurting), "score": max(row.score for row in hurting)}
        done = bool(self.told.discomforts) or self.pre_visit.no_discomfort
        return Step(DISCOMFORT, _("What hurts, and where"), Group.RIDER, DISCOMFORT_MIN, done, words)

    def is_done(self, check: Check) -> bool:
        """Return whether a check is answered in full, or the rider could not do it."""
        answer = self.given.answers.get(check.key)
        if answer is None:
            return False
        if answer.option in {COULD_NOT, *(option.key for option in check.options)}:
            return True
        in_full = all(number.key in answer.lengths_mm for number in check.numbers)
        return in_full and can_answer(check, answer) and bool(check.numbers)

    @cached_property
    def groups(self) -> tuple[StepGroup, ...]:
        """Return the steps part by part."""
        parts = [
            StepGroup(str(GROUP_LABELS[group]), tuple(step for step in self.steps if step.group is group))
            for group in Group
        ]
        return tuple(part for part in parts if part.steps)

    @property
    def done(self) -> int:
        """Return how many steps are done."""
        return sum(step.done for step in self.steps)

    @property
    def total(self) -> int:
        """Return how many steps there are."""
        return len(self.steps)

    @property
    def minutes_left(self) -> int:
        """Return about how many minutes the open steps take, rounded up."""
        return ceil(sum(step.home_min for step in self.steps if not step.done))

    @property
    def open_steps(self) -> tuple[Step, ...]:
        """Return the steps that are still to do."""
        return tuple(step for step in self.steps if not step.done)

    @property
    def tools(self) -> tuple[str, ...]:
        """Return what to have at hand for all checks, each thing once."""
        return tuple(dict.fromkeys(tool for check in self.asked for tool in check.tools))

    @property
    def clinical(self) -> tuple[Check, ...]:
        """Return the checks in which signs that belong with a clinician can be reported."""
        return tuple(check for check in self.asked if is_clinical(check))

    @property
    def known_facts(self) -> tuple[tuple[str, str], ...]:
        """Return what was known of the bike before this check, as name and value in words."""
        return tuple(self.pre_visit.bike.fact_in_words(name) for name in self.given.bike.facts)

    def check(self, key: str) -> Check:
        """Return an asked check by its key; KeyError where none is asked."""
        for check in self.asked:
            if check.key == key:
                return check
        raise KeyError(key)

    def number(self, key: str) -> int:
        """Return the place of a step, counted from 1."""
        return self._place(key) + 1

    def after(self, key: str) -> Step | None:
        """Return the step after this one, None after the last."""
        return next(iter(self.steps[self._place(key) + 1 :]), None)

    def next_open(self, key: str, then: str = "") -> Step | None:
        """Return where to go on after an answer: to the step ``then``, which its page named, else to the next open one."""
        if then == LAST:
            return None
        open_after = [step for step in self.steps[self._place(key) + 1 :] if not step.done]
        named = [step for step in self.open_steps if step.key == then and step.key != key]
        return next(iter(named or open_after), None)

    def leads_on_to(self, key: str) -> str:
        """Return the step that the page of this one must name, so that what was passed over before it does not come up again.

        Nothing where nothing was passed over: what is worth asking next is then seen from the answer.
        """
        group = next(step.group for step in self.steps if step.key == key)
        before = (step for step in self.steps[: self._place(key)] if step.group is group)
        if all(step.done for step in before):
            return ""
        following = self.next_open(key)
        return following.key if following else LAST

    def before(self, key: str) -> Step | None:
        """Return the step before this one, None before the first."""
        place = self._place(key)
        return self.steps[place - 1] if place else None

    def _place(self, key: str) -> int:
        return next(place for place, step in enumerate(self.steps) if step.key == key)

    @cached_property
    def triage(self) -> Triage:
        """Return what the answers mean for the session."""
        return judge(self.given)

    def warnings(self, key: str) -> tuple[Finding, ...]:
        """Return what the answer to one check says that can hurt somebody."""
        return tuple(
            finding
            for finding in self.triage.findings
            if finding.check.key == key and finding.hazard is not Hazard.NONE and finding.standing > 0
        )


def check_list(pre_visit: PreVisitCheck, session_slot: SessionSlot) -> CheckList:
    """Read one check: four queries."""
    told = told_of([pre_visit.pk])[pre_visit.pk]
    return CheckList(pre_visit, told, input_of(pre_visit, told, session_slot, current_catalogue()))

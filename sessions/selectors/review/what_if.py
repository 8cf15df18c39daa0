"""Which verdicts on coming sessions would change, were the catalogue or a studio's thresholds other than they are."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from django.utils import timezone

from intake.catalogue.schema import Catalogue
from intake.selectors.catalogue import current_catalogue
from intake.selectors.triage import judge, triage_inputs
from intake.slots import SessionSlot, slots_of
from intake.triage.answers import Thresholds
from intake.triage.verdict import Verdict
from sessions.models import FitSession, Studio
from sessions.selectors.review.listing import coming_sessions

MOST_JUDGED = 40  # the soonest: twice some milliseconds each


@dataclass(frozen=True)
class Moved:
    """A session whose verdict would change."""

    fit_session: FitSession
    before: Verdict
    after: Verdict
    reason: str


@dataclass(frozen=True)
class WhatIf:
    """The coming sessions that were judged both ways, how many are coming in all, and those that would change."""

    moved: tuple[Moved, ...]
    judged: int
    coming: int


def what_if(
    *, catalogue: Catalogue | None = None, studio: Studio | None = None, thresholds: Thresholds | None = None
) -> WhatIf:
    """Judge the soonest coming sessions as things stand and as they would; the queries do not depend on how many."""
    coming = coming_sessions(timezone.now())
    if studio is not None:
        coming = coming.filter(studio=studio)
    rows = coming.select_related("client", "studio", "pre_visit__bike").order_by("starts_at", "pk")
    sessions = {row.pre_visit_id: row for row in rows[:MOST_JUDGED]}
    slots = slots_of(list(sessions))
    now = current_catalogue()
    changed = slots if thresholds is None else {pk: _with(slot, thresholds) for pk, slot in slots.items()}
    before, after = _judged(sessions, slots, now), _judged(sessions, changed, catalogue or now)
    moved = (
        Moved(sessions[pk], before[pk][0], verdict, reason)
        for pk, (verdict, reason) in after.items()
        if before[pk][0] is not verdict
    )
    return WhatIf(tuple(moved), len(sessions), coming.count())


def _with(slot: SessionSlot, thresholds: Thresholds) -> SessionSlot:
    return replace(slot, slot=replace(slot.slot, thresholds=thresholds))


def _judged(
    sessions: Mapping[int, FitSession], slots: Mapping[int, SessionSlot], catalogue: Catalogue
) -> dict[int, tuple[Verdict, str]]:
    checks = [fit_session.pre_visit for fit_session in sessions.values()]
    results = {pk: judge(given) for pk, given in triage_inputs(checks, slots, catalogue).items()}
    return {pk: (result.verdict, result.reasons[0].text) for pk, result in results.items()}

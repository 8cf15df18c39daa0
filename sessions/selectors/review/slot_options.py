"""What can be done with a slot: how much longer it can be, where it can move, and what the triage suggests."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from intake.triage.engine import Triage
from intake.triage.verdict import Reason, Verdict
from sessions.diary.choices import LocalStart, by_day, nearest
from sessions.diary.free_starts import FreeStart
from sessions.diary.quanta import QUANTUM_MIN
from sessions.diary.states import COMING, SessionState, can_move
from sessions.models import FitSession, SlotChoice, SlotDecision
from sessions.selectors.booking.diary import Wanted, free_extension, free_starts_of, need_of_session
from sessions.selectors.review.words import percent_words

BARRING = frozenset({"hazard", "ruled_fix_first", "locked", "unreliable"})
OVERRUNS = frozenset({"overrun", "bench_overrun"})
USUAL_EXTENSIONS_MIN = (15, 30, 45, 60)
FIRST_OFFERED = 3
STARTS_OFFERED = 6


@dataclass(frozen=True)
class Extension:
    """Some minutes more, the chance to run to plan with them, and whether they are what the triage asks for."""

    extra_min: int
    chance: str
    is_enough: bool


@dataclass(frozen=True)
class SlotOptions:
    """What the desk can decide about one slot.

    ``basis`` names the slot as it was shown. ``suggested`` is what the verdict asks for; ``starts`` are free starts from the first day
    on which everything needed could be ready (``ready_on``), the first ones and those nearest to the present start; ``free_starts`` are
    all there are.
    """

    basis: str
    suggested: SlotChoice
    free_min: int
    extensions: tuple[Extension, ...]
    starts: tuple[LocalStart, ...]
    free_starts: tuple[FreeStart, ...]
    ready_on: date | None
    can_confirm: bool
    runs_to_plan: bool


def basis_of(fit_session: FitSession, latest: SlotDecision | None) -> str:
    """Return what names a slot as it is now: it changes whenever its time, its length or the decision about it does."""
    return f"{fit_session.sequence}.{latest.pk if latest else 0}"


def is_open(fit_session: FitSession) -> bool:
    """Return whether a slot can still be decided about."""
    return SessionState(fit_session.state) in COMING


def slot_options(fit_session: FitSession, triage: Triage, latest: SlotDecision | None) -> SlotOptions:
    """Return what can be decided about a slot that is still open: eight queries."""
    state = SessionState(fit_session.state)
    free_min = free_extension(fit_session)
    free_starts = other_starts(fit_session) if can_move(state, SessionState.MOVED) else ()
    starts = _when_ready(free_starts, fit_session, triage)
    return SlotOptions(
        basis=basis_of(fit_session, latest),
        suggested=suggested_choice(triage, free_min),
        free_min=free_min,
        extensions=extensions(triage, free_min),
        starts=_offered(fit_session, starts, soon=triage.first_ready_on is not None),
        free_starts=free_starts,
        ready_on=triage.first_ready_on,
        can_confirm=can_move(state, SessionState.CONFIRMED),
        runs_to_plan=triage.extend_min == 0,
    )


def suggested_choice(triage: Triage, free_min: int) -> SlotChoice:
    """Return what the triage asks for.

    Move where what bars the session can no longer be ready; where only its minutes are too many and nothing can spare them any
    more, make it longer if the day allows that, else move; ask what is not known and decides it; else keep the slot, with time
    left to put right what there is.
    """
    if any(_is_overtaken(triage, reason) for reason in triage.reasons if reason.code in BARRING) or _flag_is_late(
        triage
    ):
        return SlotChoice.MOVE
    if any(_is_unavoidable(triage, reason) for reason in triage.reasons if reason.code in OVERRUNS):
        return SlotChoice.EXTEND if enough_min(triage, free_min) else SlotChoice.MOVE
    if triage.stopped or triage.verdict is Verdict.ASK_RIDER:
        return SlotChoice.ASK_RIDER
    return SlotChoice.KEEP


def _is_overtaken(triage: Triage, reason: Reason) -> bool:
    behind = (triage.finding(key) for key in reason.findings)
    return any(finding.late and finding.consequence.holds for finding in behind)


def _flag_is_late(triage: Triage) -> bool:
    return any(flag.finding.late for flag in triage.red_flags)


def _is_unavoidable(triage: Triage, reason: Reason) -> bool:
    behind = (triage.finding(key) for key in reason.findings)
    return all(finding.late or finding.ruling is not None for finding in behind)


def enough_min(triage: Triage, free_min: int) -> int | None:
    """Return the fewest minutes, in steps of five, with which the session runs to plan often enough; None where the day is too short."""
    if not triage.extend_min:
        return None
    wanted_min = -(-triage.extend_min // QUANTUM_MIN) * QUANTUM_MIN
    return wanted_min if wanted_min <= free_min else None


def extensions(triage: Triage, free_min: int) -> tuple[Extension, ...]:
    """Return the extensions that the day allows: the usual ones, and the one that is just enough."""
    enough = enough_min(triage, free_min)
    lengths_min = {extra_min for extra_min in USUAL_EXTENSIONS_MIN if extra_min <= free_min} | (
        {enough} if enough else set()
    )
    return tuple(
        Extension(extra_min, percent_words(100 * chance_with(triage, extra_min)), is_enough=extra_min == enough)
        for extra_min in sorted(lengths_min)
    )


def chance_with(triage: Triage, extra_min: int) -> float:
    """Return the chance to run to plan with some minutes more slack, from the same forecast."""
    return min(1.0, float(triage.forecast.pmf[: triage.forecast.slack_min + extra_min + 1].sum()))


def other_starts(fit_session: FitSession) -> tuple[FreeStart, ...]:
    """Return the free starts to which a session can move."""
    found = free_starts_of(
        fit_session.studio, Wanted(need_of_session(fit_session)), with_notice=False, without=fit_session
    )
    return tuple(each for each in found if each.start_utc != fit_session.starts_at)


def _when_ready(starts: Sequence[FreeStart], fit_session: FitSession, triage: Triage) -> tuple[FreeStart, ...]:
    """Return those from the first day on which what the session needs can be ready."""
    zone, ready_on = fit_session.studio.zone, triage.first_ready_on or date.min
    return tuple(each for each in starts if each.start_utc.astimezone(zone).date() >= ready_on)


def _offered(fit_session: FitSession, starts: Sequence[FreeStart], *, soon: bool) -> tuple[LocalStart, ...]:
    """Return a handful of starts in ascending order: the first ones where it should be ``soon``, and the nearest to the present one."""
    first = starts[:FIRST_OFFERED] if soon else ()
    others = nearest([each for each in starts if each not in first], fit_session.starts_at, STARTS_OFFERED - len(first))
    return tuple(start for day in by_day((*first, *others), fit_session.studio.zone) for start in day.starts)

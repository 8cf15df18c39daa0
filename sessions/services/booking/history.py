"""The states of a session: allowed moves only, each kept with who and when."""

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.utils import timezone

from intake.selectors.catalogue import current_catalogue
from intake.selectors.red_flags import open_flags
from intake.selectors.triage import judge, triage_input
from intake.slots import slot_of
from sessions.diary.states import OCCUPYING, SessionState, check_move
from sessions.models import FitSession, StateChange
from sessions.services.booking.errors import NotYetMissedError, RedFlagsUnreadError
from sessions.services.booking.occupancy import locked, occupy, release

# These two change more than the state: a time, an invitation, a mail. They have services of their own in moves.py.
OTHERWISE = frozenset({SessionState.MOVED, SessionState.CANCELLED})
# With these the session goes ahead: whatever the way there, somebody has read the red flags before.
GOES_AHEAD = frozenset({SessionState.CONFIRMED, SessionState.UNDER_WAY})


@transaction.atomic
def change_state(
    *, fit_session: FitSession, to: str, by: AbstractBaseUser | None = None, note: str = ""
) -> StateChange:
    """Bring a session to another state and keep who did it; ``by`` is empty where it was the rider.

    Raises MoveNotAllowedError, NotYetMissedError before the start, RedFlagsUnreadError where the session would go ahead past a red
    flag that nobody has read, ValueError for *moved* and *cancelled*, and StartTakenError where a rider who comes after all finds
    that the time has been given away.
    """
    wanted = SessionState(to)
    if wanted in OTHERWISE:
        raise ValueError(f"A session is {wanted} by its own service.")
    now = locked(fit_session)
    check_move(SessionState(now.state), wanted)
    if wanted is SessionState.NO_SHOW and now.starts_at > timezone.now():
        raise NotYetMissedError(now.starts_at)
    if wanted in GOES_AHEAD:
        _check_flags_read(now)
    change = step(fit_session=now, to=wanted, by=by, note=note)
    now.save(update_fields=["state"])
    fit_session.state = now.state
    return change


def _check_flags_read(fit_session: FitSession) -> None:
    pre_visit = fit_session.pre_visit
    if open_flags(pre_visit, judge(triage_input(pre_visit, slot_of(pre_visit.pk), current_catalogue()))):
        raise RedFlagsUnreadError


def step(*, fit_session: FitSession, to: SessionState, by: AbstractBaseUser | None, note: str = "") -> StateChange:
    """Set the state of a locked session, take or give back its time, and write the history; the caller saves the session."""
    before = SessionState(fit_session.state)
    check_move(before, to)
    if to not in OCCUPYING:
        release(fit_session)
    elif before not in OCCUPYING:
        occupy(fit_session)
    fit_session.state = to.value
    return _kept(fit_session, before.value, to, by, note)


def begin(*, fit_session: FitSession, by: AbstractBaseUser | None, note: str = "") -> StateChange:
    """Write the first line of a session's history."""
    state = SessionState(fit_session.state)
    check_move(None, state)
    return _kept(fit_session, "", state, by, note)


def _kept(
    fit_session: FitSession, before: str, to: SessionState, by: AbstractBaseUser | None, note: str
) -> StateChange:
    return StateChange.objects.create(
        fit_session=fit_session, from_state=before, to_state=to.value, changed_by=by, note=note[:300]
    )

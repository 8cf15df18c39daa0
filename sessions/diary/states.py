"""The states of a session and the moves between them: one table for code, forms and tests.

Changing the time of a session is itself a state. The session stays the same row with the same calendar UID, its
times change, its SEQUENCE rises, and it becomes *moved*: it has a new time that the rider has not confirmed yet.
From there it goes on like a booked one, and it may be moved again. So a history is a chain in which every entry
starts where the one before it ended, and each entry *to moved* is one change of time. A new bay, another fitter or
extra minutes at the end are no change of state.

A hold that lapses or is given up is *cancelled*. A start by mistake is taken back to *confirmed*; a rider who comes
after all turns *no-show* into *under way*, provided that the time is still free.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import StrEnum
from types import MappingProxyType

from sessions.diary.errors import MoveNotAllowedError


class SessionState(StrEnum):
    """Where a session stands; the values are what the database keeps."""

    HELD = "held"
    BOOKED = "booked"
    CONFIRMED = "confirmed"
    MOVED = "moved"
    UNDER_WAY = "under_way"
    DONE = "done"
    CANCELLED = "cancelled"
    NO_SHOW = "no_show"


_S = SessionState

ALLOWED_MOVES: Mapping[SessionState | None, frozenset[SessionState]] = MappingProxyType(
    {
        None: frozenset({_S.HELD, _S.BOOKED}),
        _S.HELD: frozenset({_S.BOOKED, _S.CANCELLED}),
        _S.BOOKED: frozenset({_S.CONFIRMED, _S.MOVED, _S.UNDER_WAY, _S.CANCELLED, _S.NO_SHOW}),
        _S.CONFIRMED: frozenset({_S.MOVED, _S.UNDER_WAY, _S.CANCELLED, _S.NO_SHOW}),
        _S.MOVED: frozenset({_S.CONFIRMED, _S.MOVED, _S.UNDER_WAY, _S.CANCELLED, _S.NO_SHOW}),
        _S.UNDER_WAY: frozenset({_S.CONFIRMED, _S.DONE, _S.CANCELLED}),
        _S.NO_SHOW: frozenset({_S.UNDER_WAY}),
        _S.DONE: frozenset(),
        _S.CANCELLED: frozenset(),
    }
)
"""From each state, the states that may follow; None stands for a session that does not exist yet."""

COMING = frozenset({_S.HELD, _S.BOOKED, _S.CONFIRMED, _S.MOVED})
"""States of a session that is still to be held: what is known of the bike and the slot itself may change."""

OCCUPYING = frozenset({_S.HELD, _S.BOOKED, _S.CONFIRMED, _S.MOVED, _S.UNDER_WAY, _S.DONE})
"""States in which a session occupies its fitter and its bay."""

ENDED = frozenset({_S.DONE, _S.CANCELLED, _S.NO_SHOW})
"""States in which nothing more is expected of the rider."""


def check_move(from_state: SessionState | None, to_state: SessionState) -> None:
    """Refuse a move that the table does not hold.

    Parameters
    ----------
    from_state : SessionState or None
        None for a session that is being made.
    to_state : SessionState
        The state wanted.

    Raises
    ------
    MoveNotAllowedError
        If the move is not allowed.

    Examples
    --------
    >>> check_move(SessionState.BOOKED, SessionState.CONFIRMED)
    >>> check_move(SessionState.DONE, SessionState.BOOKED)
    Traceback (most recent call last):
    sessions.diary.errors.MoveNotAllowedError: A session cannot go from “done” to “booked”.
    """
    if to_state not in ALLOWED_MOVES[from_state]:
        raise MoveNotAllowedError(from_state, to_state)


def can_move(from_state: SessionState | None, to_state: SessionState) -> bool:
    """Tell whether `check_move` lets a move pass."""
    return to_state in ALLOWED_MOVES[from_state]


def check_history(states: Iterable[SessionState]) -> None:
    """Refuse a history, oldest state first, in which any step is not allowed.

    Raises
    ------
    MoveNotAllowedError
        For the first step that is not allowed, the making of the session included.
    """
    before: SessionState | None = None
    for state in states:
        check_move(before, state)
        before = state

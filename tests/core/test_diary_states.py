"""The table of moves, walked as a whole."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.diary.errors import MoveNotAllowedError
from sessions.diary.states import ALLOWED_MOVES, ENDED, OCCUPYING, SessionState, can_move, check_history, check_move

S = SessionState
PAIRS = list(product([None, *SessionState], SessionState))


def test_the_states_are_those_of_the_trade():
    """The eight states, as the database keeps them."""
    assert set(SessionState) == {
        "held", "booked", "confirmed", "under_way", "done", "cancelled", "no_show", "moved",
    }  # fmt: skip


@pytest.mark.parametrize(("from_state", "to_state"), PAIRS)
def test_check_and_can_agree_with_the_table(from_state, to_state):
    """Each of the 72 pairs passes both functions or neither, as the table says."""
    allowed = to_state in ALLOWED_MOVES[from_state]
    assert can_move(from_state, to_state) is allowed
    if allowed:
        check_move(from_state, to_state)
    else:
        with pytest.raises(MoveNotAllowedError) as refused:
            check_move(from_state, to_state)
        assert (refused.value.from_state, refused.value.to_state) == (from_state, to_state)


def test_the_table_has_a_row_for_every_state():
    """No state is forgotten, and None stands for a session not yet made."""
    assert set(ALLOWED_MOVES) == {None, *SessionState}


@pytest.mark.parametrize(
    "history",
    [
        [S.HELD, S.BOOKED, S.CONFIRMED, S.UNDER_WAY, S.DONE],
        [S.BOOKED, S.UNDER_WAY, S.DONE],  # the desk books a caller, who never confirms
        [S.HELD, S.CANCELLED],  # a hold lapses
        [S.BOOKED, S.MOVED, S.MOVED, S.CONFIRMED, S.MOVED, S.CONFIRMED, S.UNDER_WAY, S.DONE],
        [S.BOOKED, S.NO_SHOW, S.UNDER_WAY, S.DONE],  # comes after all
        [S.BOOKED, S.CONFIRMED, S.UNDER_WAY, S.CONFIRMED, S.CANCELLED],  # started by mistake
        [S.BOOKED, S.UNDER_WAY, S.CANCELLED],  # stopped: the rider is unwell
    ],
)
def test_what_happens_in_a_studio_is_allowed(history):
    """Histories that a desk meets pass."""
    check_history(history)


@pytest.mark.parametrize(
    ("history", "refused"),
    [
        ([S.CONFIRMED], (None, S.CONFIRMED)),
        ([S.MOVED], (None, S.MOVED)),
        ([S.HELD, S.CONFIRMED], (S.HELD, S.CONFIRMED)),
        ([S.HELD, S.MOVED], (S.HELD, S.MOVED)),  # another start is another hold
        ([S.BOOKED, S.HELD], (S.BOOKED, S.HELD)),
        ([S.BOOKED, S.BOOKED], (S.BOOKED, S.BOOKED)),  # the same form sent twice
        ([S.BOOKED, S.DONE], (S.BOOKED, S.DONE)),
        ([S.BOOKED, S.CANCELLED, S.BOOKED], (S.CANCELLED, S.BOOKED)),
        ([S.BOOKED, S.CANCELLED, S.CANCELLED], (S.CANCELLED, S.CANCELLED)),
        ([S.BOOKED, S.UNDER_WAY, S.NO_SHOW], (S.UNDER_WAY, S.NO_SHOW)),
        ([S.BOOKED, S.UNDER_WAY, S.DONE, S.CANCELLED], (S.DONE, S.CANCELLED)),
        ([S.BOOKED, S.NO_SHOW, S.MOVED], (S.NO_SHOW, S.MOVED)),
    ],
)
def test_what_must_not_happen_is_refused(history, refused):
    """Histories that would lie are refused at the step that lies."""
    with pytest.raises(MoveNotAllowedError) as refusal:
        check_history(history)
    assert (refusal.value.from_state, refusal.value.to_state) == refused


@given(st.lists(st.sampled_from(list(SessionState)), min_size=1, max_size=6))
def test_a_history_passes_exactly_when_every_step_does(history):
    """The history is judged step by step, its beginning included."""
    steps = zip([None, *history], history, strict=False)
    if all(can_move(before, after) for before, after in steps):
        check_history(history)
    else:
        with pytest.raises(MoveNotAllowedError):
            check_history(history)


def reachable(state):
    """Every state that can follow, at once or later."""
    seen, ahead = set(), [state]
    while ahead:
        for after in ALLOWED_MOVES[ahead.pop()] - seen:
            seen.add(after)
            ahead.append(after)
    return seen


def test_every_state_can_be_reached_and_every_session_can_end():
    """No state is out of reach, none is a trap, and only done and cancelled are final."""
    assert reachable(None) == set(SessionState)
    for state in set(SessionState) - {S.DONE, S.CANCELLED}:
        assert {S.CANCELLED} <= reachable(state)
    assert {state for state in SessionState if not ALLOWED_MOVES[state]} == {S.DONE, S.CANCELLED}


def test_time_is_occupied_by_every_session_that_may_still_take_place():
    """Only a cancelled session and a no-show free their time; only they and done have ended."""
    assert set(SessionState) - OCCUPYING == {S.CANCELLED, S.NO_SHOW}
    assert {S.DONE, S.CANCELLED, S.NO_SHOW} == ENDED


def test_the_table_cannot_be_changed():
    """One table for everybody: nobody alters it in passing."""
    with pytest.raises(TypeError):
        ALLOWED_MOVES[S.DONE] = frozenset({S.BOOKED})


def test_refusals_are_sentences():
    """A refusal says it in words."""
    with pytest.raises(MoveNotAllowedError, match=r"^A session cannot go from “under way” to “no show”\.$"):
        check_move(S.UNDER_WAY, S.NO_SHOW)
    with pytest.raises(MoveNotAllowedError, match=r"^A session cannot begin as “done”\.$"):
        check_move(None, S.DONE)

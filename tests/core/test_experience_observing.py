"""What one session teaches: one table of what was known before, what was lost, and what follows."""

from datetime import date

import pytest
from hypothesis import given as drawn
from hypothesis import strategies as st

from intake.experience.observing import Hindsight, lesson
from intake.triage.answers import Ruling
from tests import strategies
from tests.core.catalogues import TWO_WEEKS_BEFORE, WEDNESDAY, check, fault, given, maybe

POST = check("post", fault("stuck"), options=(maybe("stiff", stuck=0.6),))
TWO = check("bolts", fault("seized"), fault("rounded"))
LOOKED_AT = check("routing", fault("one_piece", minutes=None), options=(maybe("perhaps", one_piece=0.5),))

THERE, NOT_THERE, UNKNOWN = True, False, None
STUCK = "post.stuck"

TABLE = [
    # answer, ruling, minutes lost → was the post stuck?
    ("", None, 30, THERE),
    ("fine", None, 30, THERE),
    ("stuck", Ruling.NOT_A_FAULT, 30, THERE),
    ("stuck", Ruling.NOT_A_FAULT, 0, NOT_THERE),
    ("stuck", None, 0, THERE),
    ("stuck", Ruling.FIXED, 0, THERE),
    ("stuck", Ruling.FIX_FIRST, 0, THERE),
    ("stuck", Ruling.ACCEPT, 0, THERE),
    ("stiff", Ruling.FIXED, 0, THERE),
    ("fine", None, 0, NOT_THERE),
    ("stiff", None, 0, NOT_THERE),
    ("stiff", Ruling.STUDIO, 0, NOT_THERE),
    ("", None, 0, NOT_THERE),
    ("could_not", None, 0, NOT_THERE),
    ("stiff", Ruling.ACCEPT, 0, UNKNOWN),
    ("stiff", Ruling.FIX_FIRST, 0, UNKNOWN),
]


def learned(values, lost=None, **answered_on):
    """What was there by finding key."""
    return {each.key: each.there for each in lesson(values, lost or {}, answered_on).observations}


@pytest.mark.parametrize(("answer", "ruling", "minutes", "expected"), TABLE)
def test_whether_a_fault_was_there(answer, ruling, minutes, expected):
    """By the first rule that holds."""
    values = given(POST, answers={"post": answer} if answer else {}, rulings={STUCK: ruling} if ruling else {})
    assert learned(values, {STUCK: minutes} if minutes else {}).get(STUCK) is expected


def test_what_costs_no_minutes_is_known_by_its_answer_alone():
    """The bench would not have noticed."""
    assert learned(given(LOOKED_AT)) == {}
    assert learned(given(LOOKED_AT, answers={"routing": "perhaps"})) == {}
    assert learned(given(LOOKED_AT, answers={"routing": "one_piece"})) == {"routing.one_piece": True}
    assert learned(given(LOOKED_AT, answers={"routing": "fine"})) == {"routing.one_piece": False}


def test_minutes_of_a_check_without_its_fault():
    """Of one fault they are that fault's; of several nobody knows which, and nothing is learned of them."""
    assert learned(given(POST), {"post": 20}) == {STUCK: True}
    assert lesson(given(POST), {"post": 20}, {}).losses[0].key == STUCK
    assert learned(given(TWO), {"bolts": 20}) == {}
    assert lesson(given(TWO), {"bolts": 20}, {}).losses[0].minutes == 20


def test_of_exclusive_faults_the_others_were_not_there():
    """One took time, so the other was looked at, too."""
    assert learned(given(TWO), {"bolts.seized": 20}) == {"bolts.seized": True, "bolts.rounded": False}


def test_a_check_that_does_not_apply_teaches_nothing():
    """Its bike has no such part."""
    from intake.catalogue.schema import BikeKind

    other = check("pads", fault("slip"), kinds=(BikeKind.TRIATHLON,))
    assert learned(given(POST, other)) == {STUCK: False}


IN_TIME, TOO_LATE = date(2026, 3, 11), date(2026, 3, 12)  # five working days before Wednesday 18 March, and a day later
HINDSIGHTS = [
    ("", None, IN_TIME, Hindsight.NOT_ANSWERED),
    ("could_not", None, IN_TIME, Hindsight.NOT_ANSWERED),
    ("fine", None, IN_TIME, Hindsight.NOT_SHOWN),
    ("stuck", None, IN_TIME, Hindsight.TOLD_IN_TIME),
    ("stiff", None, IN_TIME, Hindsight.TOLD_IN_TIME),
    ("stuck", None, TOO_LATE, Hindsight.TOLD_LATE),
    ("stuck", Ruling.STUDIO, IN_TIME, Hindsight.PLANNED),
    ("stuck", Ruling.FIXED, IN_TIME, Hindsight.TOLD_IN_TIME),
]


@pytest.mark.parametrize(("answer", "ruling", "told_on", "expected"), HINDSIGHTS)
def test_what_was_known_of_lost_minutes(answer, ruling, told_on, expected):
    """By the first that holds; a workshop needs five working days here."""
    assert TWO_WEEKS_BEFORE < IN_TIME < WEDNESDAY
    values = given(POST, answers={"post": answer} if answer else {}, rulings={STUCK: ruling} if ruling else {})
    (loss,) = lesson(values, {STUCK: 25}, {"post": told_on}).losses
    assert (loss.minutes, loss.hindsight) == (25, expected)


def test_what_only_the_studio_can_do_was_never_in_time():
    """There was nothing to be done before the slot."""
    values = given(check("post", fault("stuck", remedies=("bench",))), answers={"post": "stuck"})
    assert lesson(values, {STUCK: 25}, {"post": IN_TIME}).losses[0].hindsight is Hindsight.TOLD_LATE


def test_minutes_of_a_retired_check_are_still_counted():
    """They were lost, whatever the catalogue asks by now."""
    (loss,) = lesson(given(POST), {"halo.bent": 5}, {}).losses
    assert (loss.key, loss.hindsight) == ("halo.bent", Hindsight.NOT_ANSWERED)


@drawn(strategies.triage_inputs(), st.dictionaries(strategies.finding_keys, st.integers(1, 600), max_size=4))
def test_a_session_teaches_each_fault_once_and_keeps_every_minute(values, lost):
    """Whatever was answered, ruled and lost."""
    found = lesson(values, lost, {})
    keys = [each.key for each in found.observations]
    assert len(keys) == len(set(keys))
    assert sum(each.minutes for each in found.losses) == sum(minutes for key, minutes in lost.items() if key)
    assert {each.key for each in found.losses if each.key in keys} <= {e.key for e in found.observations if e.there}

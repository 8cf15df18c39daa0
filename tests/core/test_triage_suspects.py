"""A complaint beside findings worth ruling out first: which pairs there are, in which order, on which side."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st

from intake.catalogue.loader import load_catalogue
from intake.catalogue.schema import AnswerOption, Evidence, Hazard, LinkSides, Side
from intake.triage.answers import Answer, Complaint, Ruling
from intake.triage.engine import triage
from intake.triage.suspects import SideMatch, put_right, side_match, side_of
from tests import strategies
from tests.core.catalogues import check, fault, given, link

SHIPPED = load_catalogue()
LEFT, RIGHT = Complaint("knee", "left", 6), Complaint("knee", "right", 6)


def sides(key):
    """Answers that say on which side the fault is."""
    return tuple(AnswerOption(f"{key}_{side}", side, {key: 1.0}, side) for side in Side)


PEDAL = check("pedal", fault("rocks"), options=(*sides("rocks"), AnswerOption("hint", "A hint", {"rocks": 0.4})))
CLEAT = check("cleat", fault("worn"), options=sides("worn"))
SADDLE = check("saddle", fault("sunk"), options=sides("sunk"))
LINKS = (
    link("knee", "pedal.rocks", Evidence.COMMON_PRACTICE, LinkSides.SAME),
    link("knee", "cleat.worn", Evidence.CONVENTION, LinkSides.SAME),
    link("knee", "saddle.sunk", Evidence.STUDY, LinkSides.EITHER),
)


def pairs(*complaints, rulings=None, **answers):
    """Side of the complaint, finding and how the sides fit, in order."""
    found = triage(
        given(PEDAL, CLEAT, SADDLE, answers=answers, complaints=complaints, links=LINKS, rulings=rulings or {})
    )
    return [(each.complaint.side, each.finding.key, each.match.name) for each in found.suspects]


def test_the_left_knee_goes_rather_with_the_left_pedal():
    """The issue's own example: both stand beside it, the same side first."""
    assert pairs(LEFT, pedal="rocks_left", cleat="worn_right") == [
        ("left", "pedal.rocks", "SAME"),
        ("left", "cleat.worn", "OTHER"),
    ]
    assert pairs(LEFT, pedal="rocks_right", cleat="worn_left")[0] == ("left", "cleat.worn", "SAME")


def test_what_may_go_with_either_side_stands_between():
    """A saddle that has sunk on one side lets either leg reach further."""
    found = pairs(LEFT, pedal="rocks_left", cleat="worn_right", saddle="sunk_right")
    assert [match for _side, _key, match in found] == ["SAME", "OPEN", "OTHER"]


def test_each_knee_has_its_own_order():
    """Two complaints of one area are paired one by one."""
    found = pairs(replace(LEFT, score=7), RIGHT, pedal="rocks_left")
    assert found == [("left", "pedal.rocks", "SAME"), ("right", "pedal.rocks", "OTHER")]


def test_sure_comes_before_likely_and_stronger_evidence_first():
    """With the sides alike."""
    assert [key for _side, key, _match in pairs(LEFT, pedal="hint", cleat="worn", saddle="sunk")] == [
        "saddle.sunk",
        "cleat.worn",
        "pedal.rocks",
    ]


@pytest.mark.parametrize(
    ("complaint", "of_fault", "expected"),
    [
        ("left", Side.LEFT, SideMatch.SAME),
        ("both", Side.LEFT, SideMatch.SAME),
        ("right", Side.BOTH, SideMatch.SAME),
        ("right", Side.LEFT, SideMatch.OTHER),
        ("", Side.LEFT, SideMatch.OPEN),
        ("left", None, SideMatch.OPEN),
    ],
)
def test_sides(complaint, of_fault, expected):
    """Both sides fit each; a side that is not known rules nothing out."""
    assert side_match(LINKS[0], complaint, of_fault) is expected
    assert side_match(LINKS[2], complaint, of_fault) is SideMatch.OPEN


def test_the_side_is_that_of_the_answer():
    """Only of an answer that names the fault and a side."""
    assert side_of(PEDAL, "rocks", {"pedal": Answer("rocks_left")}) is Side.LEFT
    assert side_of(PEDAL, "other", {"pedal": Answer("rocks_left")}) is None
    assert side_of(PEDAL, "rocks", {"pedal": Answer("fine")}) is None
    assert side_of(PEDAL, "rocks", {}) is None


def test_the_rider_reads_the_side_and_that_it_is_a_possibility():
    """Never a cause."""
    (suspect,) = triage(given(PEDAL, answers={"pedal": "rocks_left"}, complaints=[LEFT], links=LINKS)).suspects
    assert suspect.text == "Knee, left (6 of 10): worth ruling out first, found: Rocks, left."
    assert suspect.title == "Rocks, left"


@settings(max_examples=80)
@drawn(strategies.triage_inputs())
def test_pairs_are_of_the_catalogue_and_in_order(drawn_input):
    """Only linked pairs of something that hurts and something that stands; worse complaints, then the nearer side, first."""
    found = triage(drawn_input).suspects
    for each in found:
        assert each.complaint.score > 0
        assert (each.link.area, each.link.finding) == (each.complaint.area, each.finding.key)
        assert each.finding.standing > 0
        assert each.finding.hazard in {Hazard.NONE, Hazard.DO_NOT_RIDE}
    for one, other in pairwise(found):
        assert one.complaint.score >= other.complaint.score
        if one.complaint.score == other.complaint.score:
            assert one.match <= other.match


@settings(max_examples=60)
@drawn(strategies.triage_inputs(), st.data())
def test_mirroring_rider_and_bike_changes_no_order(drawn_input, data):
    """Left and right are names: turned round together, every pair keeps its place."""
    turn = {"left": "right", "right": "left"}

    def turned(side):
        return turn.get(side, side)

    checks = tuple(
        replace(each, options=tuple(replace(o, side=Side(turned(o.side)) if o.side else None) for o in each.options))
        for each in drawn_input.catalogue.checks
    )
    mirrored = replace(
        drawn_input,
        catalogue=replace(drawn_input.catalogue, checks=checks),
        complaints=tuple(replace(each, side=turned(each.side)) for each in drawn_input.complaints),
    )

    def keys(result):
        return [(each.finding.key, each.complaint.score, each.match) for each in result.suspects]

    assert keys(triage(mirrored)) == keys(triage(drawn_input))


# ── What has been put right ──────────────────────────────────────────────────────────────────────────────────────────────


def settled(*complaints, rulings, **answers):
    """Which complaints are asked about after which repairs."""
    known = given(PEDAL, CLEAT, SADDLE, answers=answers, complaints=complaints, links=LINKS, rulings=rulings)
    return [(each.complaint.side, each.key, each.title) for each in put_right(known)]


FIXED = {"pedal.rocks": Ruling.FIXED}


def test_a_complaint_is_asked_about_once_the_fault_beside_it_is_fixed():
    """By its own name and side."""
    assert settled(LEFT, rulings=FIXED, pedal="rocks_left") == [("left", "pedal.rocks", "Rocks, left")]


def test_a_new_answer_after_the_repair_takes_nothing_back():
    """The rider says that the pedal is fine now; whether the knee is, too, is still worth asking."""
    assert settled(LEFT, rulings=FIXED, pedal="fine") == [("left", "pedal.rocks", "Rocks")]


@pytest.mark.parametrize(
    ("complaint", "rulings", "answer"),
    [
        (replace(LEFT, score=0), FIXED, "rocks_left"),
        (LEFT, {}, "rocks_left"),
        (LEFT, {"pedal.rocks": Ruling.FIX_FIRST}, "rocks_left"),
        (LEFT, {"pedal": Ruling.FIXED}, "rocks_left"),
        (LEFT, {"pedal.gone": Ruling.FIXED}, "rocks_left"),
        (RIGHT, FIXED, "rocks_left"),
        (Complaint("neck", "", 5), FIXED, "rocks_left"),
    ],
)
def test_what_is_not_asked_about(complaint, rulings, answer):
    """Nothing hurts, nothing is fixed, nothing is known of it any more, the other side, another area."""
    assert settled(complaint, rulings=rulings, pedal=answer) == []


# ── The shipped links ────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    "finding", ["pedal_rock.rocks", "cleat_wear.past_marker", "pedal_hold.weak", "saddle_shell.sunk"]
)
def test_a_sided_fault_can_be_answered_by_side(finding):
    """Left, right, and not known: the rider can always answer."""
    key, _, fault_key = finding.partition(".")
    found = {option.side for option in SHIPPED.check(key).options if option.faults.get(fault_key) == 1.0}
    assert found >= {Side.LEFT, Side.RIGHT, None}


@pytest.mark.parametrize("each", SHIPPED.links, ids=lambda each: f"{each.area}-{each.finding}")
def test_a_link_says_where_it_comes_from(each):
    """A study or a review is named by author and year; what has no source says so; what is remembered says that."""
    if each.evidence is Evidence.COMMON_PRACTICE:
        assert "no source" in each.source
    else:
        assert any(word in each.source for word in ("19", "20", "from memory", "Clinical teaching"))
    if each.evidence is Evidence.STUDY:
        assert "there is no study" in each.source or "Farrell" in each.source
    assert not any(word in each.source.lower() for word in ("caused by", "because of your", "proves"))

"""Findings, and what a fitter's ruling leaves of them."""

from datetime import date

import pytest

from intake.catalogue.schema import (
    COULD_NOT,
    Adjustment,
    AnswerOption,
    BenchMinutes,
    BikeKind,
    Freedom,
    Hazard,
    NumberField,
    NumberRule,
)
from intake.triage.answers import Answer, BikeFacts, Experience, Ruling
from intake.triage.engine import triage
from intake.triage.errors import UnknownRemedyError
from tests.core.catalogues import TWO_WEEKS_BEFORE, WEDNESDAY, check, fault, given, maybe, slot

HEIGHT = Adjustment.SADDLE_HEIGHT
STUCK = fault("stuck", minutes=(40, 100), locks=[HEIGHT])
POST = check(
    "post", STUCK, fault("tight", rate=0.2, minutes=(15, 35)), options=(maybe("creaks", stuck=0.4, tight=0.5),)
)
DAY_BEFORE = date(2026, 3, 17)


def ruled(ruling, *, today=TWO_WEEKS_BEFORE, answer="stuck", checks=(POST,), key="post.stuck"):
    """The triage of a stuck post under a ruling."""
    rulings = {key: ruling} if ruling else {}
    return triage(given(*checks, answers={"post": answer}, rulings=rulings, slot=slot(today=today)))


def test_an_answer_makes_findings_sure_or_likely():
    """Sure at one, likely below, with all that belongs to the fault."""
    sure = triage(given(POST, answers={"post": "stuck"})).finding("post.stuck")
    assert (sure.probability, sure.sure, sure.hazard) == (1, True, Hazard.NONE)
    assert sure.effects == {HEIGHT: Freedom.LOCKED}
    assert sure.minutes == BenchMinutes(40, 100)
    likely = triage(given(POST, answers={"post": "creaks"})).findings
    assert {(each.key, each.probability, each.sure) for each in likely} == {
        ("post.stuck", 0.4, False),
        ("post.tight", 0.5, False),
    }


def test_a_fault_that_an_answer_all_but_rules_out_is_not_listed():
    """One in twenty is; less is not; a hazard always is."""
    rare = check(
        "rare",
        fault("odd"),
        fault("crack", hazard=Hazard.DO_NOT_RIDE),
        options=(maybe("looks_good", odd=0.04, crack=0.01),),
    )
    assert [each.key for each in triage(given(rare, answers={"rare": "looks_good"})).findings] == ["rare.crack"]


def test_what_is_not_answered_is_unknown_and_no_finding():
    """Unanswered and could-not checks are listed apart, with the chance of a fault and whether it matters most."""
    gears = check("gears", fault("slip", rate=0.2))
    found = triage(given(POST, gears, answers={"gears": COULD_NOT}))
    assert found.findings == ()
    post, slipping = found.unknowns
    assert (post.check.key, post.could_not, post.essential) == ("post", False, True)
    assert post.chance == pytest.approx(0.3)
    assert (slipping.check.key, slipping.could_not, slipping.essential) == ("gears", True, False)


def test_the_gravest_finding_comes_first():
    """Hazard, then what bars the session, then what is sure, then the minutes."""
    checks = [
        check("a", fault("slow", minutes=(60, 90))),
        check("b", fault("quick", minutes=(5, 9))),
        check("c", fault("lock", minutes=None, locks=[HEIGHT])),
        check("d", fault("crack", minutes=None, hazard=Hazard.DO_NOT_RIDE)),
    ]
    answers = {"a": "slow", "b": "quick", "c": "lock", "d": "crack"}
    assert [each.key for each in triage(given(*checks, answers=answers)).findings] == [
        "d.crack",
        "c.lock",
        "a.slow",
        "b.quick",
    ]


@pytest.mark.parametrize(
    ("ruling", "expected_min", "freedom", "verdict"),
    [
        (None, True, Freedom.LOCKED, "fix_first"),
        (Ruling.FIX_FIRST, False, Freedom.FREE, "fix_first"),
        (Ruling.STUDIO, True, Freedom.FREE, "fix_first"),
        (Ruling.BRING_PART, True, Freedom.FREE, "fix_first"),
        (Ruling.ACCEPT, True, Freedom.LOCKED, "clear"),
        (Ruling.NOT_A_FAULT, False, Freedom.FREE, "clear"),
        (Ruling.FIXED, False, Freedom.FREE, "clear"),
    ],
)
def test_what_each_ruling_leaves(ruling, expected_min, freedom, verdict):
    """Minutes, locked map and verdict of a stuck post, ruling by ruling."""
    found = ruled(ruling)
    assert bool(found.forecast.expected_min) is expected_min
    assert found.adjustments[HEIGHT].freedom is freedom
    assert found.verdict == verdict
    assert found.finding("post.stuck").ruling is ruling


def test_work_ruled_for_the_bench_is_the_slots_own_overrun():
    """No lock any more, but the slot is too short, and the reason says that."""
    assert [reason.code for reason in ruled(Ruling.STUDIO).reasons] == ["bench_overrun"]


def test_fix_first_is_only_believed_while_a_remedy_is_in_time():
    """The workshop needs five days: with four left the post is stuck in the slot."""
    in_time = ruled(Ruling.FIX_FIRST, today=date(2026, 3, 11))
    late = ruled(Ruling.FIX_FIRST, today=date(2026, 3, 12))
    assert (in_time.forecast.chance, in_time.adjustments[HEIGHT].freedom) == (1, Freedom.FREE)
    assert late.forecast.chance < 0.1
    assert late.adjustments[HEIGHT].freedom is Freedom.LOCKED
    assert late.verdict == in_time.verdict == "fix_first"


def test_fix_first_without_a_known_remedy_needs_the_day_before():
    """The fitter knows a way that the catalogue does not."""
    bare = (check("post", fault("stuck", remedies=(), locks=[HEIGHT])),)
    assert ruled(Ruling.FIX_FIRST, checks=bare, today=DAY_BEFORE).forecast.chance == 1
    assert ruled(Ruling.FIX_FIRST, checks=bare, today=WEDNESDAY).forecast.chance < 1


@pytest.mark.parametrize("ruling", [Ruling.ACCEPT, Ruling.STUDIO, Ruling.BRING_PART, Ruling.FIX_FIRST])
def test_a_hazard_is_not_the_fitters_to_accept(ruling):
    """It stands until it is ruled fixed or not a fault."""
    cracked = (check("post", fault("stuck", hazard=Hazard.DO_NOT_RIDE)),)
    assert ruled(ruling, checks=cracked).verdict == "do_not_ride"


@pytest.mark.parametrize("ruling", [Ruling.FIXED, Ruling.NOT_A_FAULT])
def test_a_hazard_that_is_settled_is_gone(ruling):
    """The bike may be ridden again; the finding stays to be seen with its ruling."""
    cracked = (check("post", fault("stuck", hazard=Hazard.DO_NOT_RIDE)),)
    found = ruled(ruling, checks=cracked)
    assert found.verdict == "clear"
    assert found.finding("post.stuck").ruling is ruling


def test_a_ruling_can_settle_a_check_without_an_answer():
    """Keyed by the check alone it speaks for all its faults, as long as nothing is answered."""
    open_ = ruled(None, answer="")
    settled = ruled(Ruling.ACCEPT, answer="", key="post")
    assert (open_.verdict, settled.verdict) == ("ask_rider", "clear")
    assert settled.unknowns[0].ruling is Ruling.ACCEPT
    assert settled.forecast == open_.forecast
    assert ruled(Ruling.NOT_A_FAULT, key="post").verdict == "fix_first"


def test_a_ruling_on_what_the_rider_has_since_answered_fine_is_moot():
    """Nothing is listed that is not there."""
    assert ruled(Ruling.FIX_FIRST, answer="fine").findings == ()


def test_a_studios_own_minutes_replace_the_catalogues():
    """In the finding and in the forecast."""
    experience = Experience(minutes={"post.stuck": BenchMinutes(5, 5)})
    found = triage(given(POST, answers={"post": "stuck"}, experience=experience))
    assert found.finding("post.stuck").minutes == BenchMinutes(5, 5)
    assert found.forecast.expected_min == pytest.approx(5)


def test_the_best_remedy_is_the_first_in_time():
    """The catalogue's order is that of preference; when all are late, the quickest."""
    post = (check("post", fault("stuck", remedies=("workshop", "grease"))),)
    assert ruled(None, checks=post).finding("post.stuck").best.remedy.key == "workshop"
    assert ruled(None, checks=post, today=DAY_BEFORE).finding("post.stuck").best.remedy.key == "grease"
    late = ruled(None, checks=post, today=WEDNESDAY).finding("post.stuck")
    assert (late.late, late.best.remedy.key) == (True, "grease")


def test_a_remedy_that_the_catalogue_does_not_hold_is_named():
    """Both the fault and the remedy."""
    with pytest.raises(UnknownRemedyError, match=r"post\.stuck.*witchcraft"):
        triage(given(check("post", fault("stuck", remedies=("witchcraft",)))))


def test_an_answer_that_no_longer_fits_is_reported():
    """It counts as far as it fits, and the desk can see which it is."""
    found = triage(given(POST, answers={"post": Answer("retired")}))
    assert [(each.check, each.kind) for each in found.misfits] == [("post", "unreadable")]
    assert [each.check.key for each in found.unknowns] == ["post"]


def test_a_finding_that_is_not_listed_is_a_key_error():
    """By key."""
    with pytest.raises(KeyError, match=r"post\.stuck"):
        triage(given(POST)).finding("post.stuck")


SPACERS = check(
    "spacers",
    fault("none_over"),
    options=(
        AnswerOption("none", "None above", {"none_over": 1.0}),
        AnswerOption("some", "Some above"),
        AnswerOption("measured", "Measured"),
    ),
    numbers=(NumberField("over_mm", "Above the stem", 0, 200, "From 0 to 200 mm."),),
    rules=(NumberRule("none_over", "over_mm", at_most_mm=0.5),),
)


@pytest.mark.parametrize(
    ("option", "over_mm", "kinds"),
    [
        ("none", 20, ["lengths_differ"]),
        ("some", 0, ["lengths_differ"]),
        ("none", 0, []),
        ("some", 20, []),
        ("", 20, []),
        ("measured", 0, []),
    ],
)
def test_an_option_against_the_lengths_is_named(option, over_mm, kinds):
    """The lengths count, and the desk reads that the two cannot both be true."""
    found = triage(given(SPACERS, answers={"spacers": Answer(option, {"over_mm": over_mm})}))
    assert [each.kind.value for each in found.misfits] == kinds
    assert bool(found.findings) is (over_mm == 0)
    assert all(SPACERS.title in each.text for each in found.misfits)


def test_an_answer_against_the_bikes_record_is_named():
    """The record counts, and the desk reads what it says."""
    cockpit = check(
        "cockpit",
        fact="cockpit",
        options=(AnswerOption("separate", "Two parts"), AnswerOption("one_piece", "One part")),
    )
    bike = BikeFacts(BikeKind.ROAD, {"cockpit": "one_piece"})
    found = triage(given(cockpit, answers={"cockpit": Answer("separate")}, bike=bike))
    assert [(each.check, each.kind.value) for each in found.misfits] == [("cockpit", "other_than_bike")]
    assert "One part" in found.misfits[0].text
    assert not triage(given(cockpit, answers={"cockpit": Answer("one_piece")}, bike=bike)).misfits

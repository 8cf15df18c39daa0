"""The verdict and its reasons."""

from dataclasses import replace

import pytest
from hypothesis import given as drawn
from hypothesis import settings

from intake.catalogue.schema import COULD_NOT, Adjustment, Hazard
from intake.triage.answers import Ruling, Thresholds
from intake.triage.engine import triage
from intake.triage.verdict import Verdict
from tests import strategies
from tests.core.catalogues import WEDNESDAY, check, fault, given, maybe, slot

HEIGHT = Adjustment.SADDLE_HEIGHT

CRASH = check("crash", fault("fall", minutes=None, hazard=Hazard.DO_NOT_RIDE), options=(maybe("not_sure", fall=0.2),))
POST = check(
    "post",
    fault("stuck", minutes=None, locks=[HEIGHT]),
    options=(maybe("creaks", stuck=0.3), maybe("grinds", stuck=0.6)),
)
CLAMP = check("clamp", fault("seized", minutes=None, locks=[HEIGHT]), options=(maybe("rusty", seized=0.3),))
SADDLE = check(
    "saddle",
    fault("sunk", minutes=None, unreliable=True),
    options=(maybe("slightly", sunk=0.3), maybe("visibly", sunk=0.7)),
)
GEARS = check("gears", fault("slip", rate=0.05, minutes=(30, 60)), options=(maybe("now_and_then", slip=0.4),))
CLEATS = check(
    "cleats",
    fault("worn", minutes=(3, 5), remedies=("new_cleats", "workshop")),
    options=(maybe("no_marker", worn=0.3),),
)
PAIN = check("pain", fault("numb", minutes=None, hazard=Hazard.SEE_CLINICIAN))
ALL = (CRASH, POST, CLAMP, SADDLE, GEARS, CLEATS, PAIN)
ALL_FINE = dict.fromkeys((each.key for each in ALL), "fine")


def judged(*checks, where=None, rulings=None, **answers):
    """The triage of these checks, all of them answered fine but for what is said."""
    checks = checks or ALL
    answers = {key: option for key, option in (ALL_FINE | answers).items() if option}
    return triage(given(*checks, answers=answers, slot=where or slot(), rulings=rulings or {}))


def codes(found):
    """The rules behind a verdict."""
    return [reason.code for reason in found.reasons]


def test_verdicts_weigh_in_the_order_of_the_words():
    """Do not ride, fix first, ask the rider, bring parts, clear."""
    assert [verdict.weight for verdict in Verdict] == [4, 3, 2, 1, 0]
    assert [verdict.value for verdict in Verdict] == ["do_not_ride", "fix_first", "ask_rider", "bring_parts", "clear"]


@pytest.mark.parametrize(
    ("answers", "verdict", "code"),
    [
        ({}, "clear", "clear"),
        ({"crash": "fall"}, "do_not_ride", "hazard"),
        ({"crash": "not_sure"}, "do_not_ride", "hazard"),
        ({"crash": ""}, "ask_rider", "unknown_hazard"),
        ({"crash": COULD_NOT}, "ask_rider", "unknown_hazard"),
        ({"post": "stuck"}, "fix_first", "locked"),
        ({"post": "grinds"}, "fix_first", "locked"),
        ({"post": "creaks"}, "ask_rider", "unknown_lock"),
        ({"post": "creaks", "clamp": "rusty"}, "fix_first", "locked"),
        ({"post": ""}, "clear", "clear"),
        ({"saddle": "sunk"}, "fix_first", "unreliable"),
        ({"saddle": "visibly"}, "fix_first", "unreliable"),
        ({"saddle": "slightly"}, "ask_rider", "unknown_readings"),
        ({"gears": "slip"}, "fix_first", "overrun"),
        ({"gears": "now_and_then"}, "ask_rider", "unknown_minutes"),
        ({"gears": ""}, "ask_rider", "unknown_minutes"),
        ({"cleats": "worn"}, "bring_parts", "bring"),
        ({"cleats": "no_marker"}, "bring_parts", "bring"),
        ({"cleats": "worn", "gears": "slip"}, "fix_first", "overrun"),
        ({"cleats": "worn", "gears": ""}, "ask_rider", "unknown_minutes"),
        ({"crash": "fall", "post": "stuck", "cleats": "worn"}, "do_not_ride", "hazard"),
        ({"pain": "numb"}, "clear", "clear"),
    ],
)
def test_the_first_rule_that_holds_decides(answers, verdict, code):
    """One answer at a time, and a few together."""
    found = judged(**answers)
    assert found.verdict == verdict
    assert found.reasons[0].code == code


def test_lighter_reasons_follow_graver_ones():
    """Everything is said at once."""
    found = judged(crash="fall", post="stuck", gears="slip", cleats="worn", saddle="slightly")
    assert codes(found) == ["hazard", "locked", "overrun", "unknown_readings", "bring"]


def test_reasons_name_what_is_behind_them_in_plain_words():
    """Titles for the rider, keys for the page."""
    reason = judged(post="stuck").reasons[0]
    assert reason.text == "Saddle height cannot be changed as the bike stands, and the session needs it. Stuck."
    assert reason.findings == ("post.stuck",)
    asked = judged(gears="").reasons[0]
    assert asked.checks == ("gears",)
    assert "Check of gears" in asked.text


def test_one_fault_that_holds_two_adjustments_is_said_once():
    """Known or open, each set of faults has one sentence."""
    bolts = check("bolts", fault("seized", rate=0.3, minutes=None, locks=[HEIGHT, Adjustment.BAR_REACH]))
    both = slot(essential=[HEIGHT, Adjustment.BAR_REACH])
    (known,) = judged(bolts, bolts="seized", where=both).reasons
    (open_,) = judged(bolts, bolts="", where=both).reasons
    assert known.text.startswith("Saddle height, bar reach cannot be changed")
    assert open_.text == "Not sure yet that this can be changed: Saddle height, bar reach. Check of bolts."


def test_only_essential_adjustments_decide():
    """A post that will not move does not matter to a session that does not move it."""
    assert judged(post="stuck", where=slot(essential=())).verdict == Verdict.CLEAR


def test_limited_is_not_locked():
    """A session can work within a limit."""
    mast = check("mast", fault("mast", minutes=None, limits=[HEIGHT]))
    assert judged(mast, mast="mast").verdict == Verdict.CLEAR


@pytest.mark.parametrize(("least", "verdict"), [(0.45, "clear"), (0.6, "fix_first")])
def test_the_studio_sets_the_chance_it_asks_for(least, verdict):
    """A fault that overruns about every second time."""
    wear = check("wear", fault("worn", minutes=(15, 30), remedies=("bench",)))
    where = slot(slack_min=15, thresholds=Thresholds(least_chance=least))
    assert judged(wear, wear="worn", where=where).verdict == verdict


def test_an_overrun_blames_what_would_have_to_be_put_right_and_no_more():
    """The costliest first, until the chance is good enough; a little dirt is not to blame."""
    post = check("post", fault("tight", minutes=(40, 90)))
    wheel = check("wheel", fault("buckled", minutes=(30, 60)))
    dirt = check("dirt", fault("dirty", minutes=(3, 5)))
    found = judged(post, wheel, dirt, post="tight", wheel="buckled", dirt="dirty")
    assert found.reasons[0].findings == ("post.tight", "wheel.buckled")
    assert judged(post, wheel, dirt, post="tight", wheel="fine", dirt="dirty").reasons[0].findings == ("post.tight",)


def test_a_small_overrun_that_nothing_open_can_turn_is_to_be_fixed():
    """Doubtful work that brings the chance just under the limit, with too little spread to be worth a question."""
    where = slot(thresholds=Thresholds(least_chance=0.75, ask_gain=0.5))
    slow = check("slow", fault("creaks", minutes=(60, 90)), options=(maybe("perhaps", creaks=0.3),))
    assert codes(judged(slow, slow="perhaps", where=where)) == ["overrun"]
    narrow = replace(where, thresholds=Thresholds(least_chance=0.75, ask_gain=0.2))
    assert codes(judged(slow, slow="perhaps", where=narrow)) == ["unknown_minutes"]


def test_a_fault_too_rare_to_reckon_with_asks_nothing():
    """One in a hundred is left alone, whatever it would cost."""
    rare = check("rare", fault("snapped", rate=0.01, minutes=(90, 120)))
    assert judged(rare, rare="").verdict == Verdict.CLEAR
    eager = slot(thresholds=Thresholds(reckoned_from=0.005))
    assert judged(rare, rare="", where=eager).verdict == Verdict.ASK_RIDER


def test_many_rare_faults_together_are_worth_a_question():
    """Each too rare to reckon with alone, together they leave too small a chance."""
    rare = [check(f"rare{n}", fault("snapped", rate=0.015, minutes=(90, 120))) for n in range(22)]
    found = judged(*rare)
    assert (codes(found), len(found.reasons[0].checks)) == (["unknown_minutes"], 22)


def test_the_worst_answer_is_the_costliest_fault():
    """A check with a cheap and a costly fault is asked about because of the costly one, whichever comes first."""
    cheap, costly = fault("cheap", minutes=(1, 2)), fault("costly", minutes=(60, 90))
    for faults in [(cheap, costly), (costly, cheap)]:
        assert codes(judged(check("either", *faults), either="")) == ["unknown_minutes"]


def test_nothing_is_asked_that_cannot_turn_the_verdict():
    """The session overruns anyway; an adjustment is locked anyway."""
    sure = check("sure", fault("slow", minutes=(15, 30)))
    assert codes(judged(sure, GEARS, sure="slow", gears="")) == ["overrun"]
    assert codes(judged(post="grinds", clamp="rusty")) == ["locked"]


def test_a_fitter_can_settle_an_unknown_hazard():
    """Having decided to look at it in the studio."""
    assert judged(crash="", rulings={"crash": Ruling.ACCEPT}).verdict == Verdict.CLEAR


def test_an_unknown_lock_that_is_likely_enough_is_asked_about():
    """From the studio's threshold on."""
    often = check("often", fault("stuck", rate=0.3, minutes=None, locks=[HEIGHT]))
    assert codes(judged(often, often="")) == ["unknown_lock"]
    assert judged(often, often="", where=slot(thresholds=Thresholds(unsure_locked=0.4))).verdict == Verdict.CLEAR


def test_a_lock_that_a_part_undoes_is_a_part_to_bring():
    """When bringing it is the only way before the slot, and there is still time for it."""
    shoes = check("shoes", fault("missing", minutes=None, locks=[HEIGHT], remedies=("new_cleats", "bench")))
    assert judged(shoes, shoes="missing").verdict == Verdict.BRING_PARTS
    assert judged(shoes, shoes="missing", where=slot(today=WEDNESDAY)).verdict == Verdict.FIX_FIRST


def test_what_bars_the_session_is_put_right_and_not_brought():
    """Bringing is then one remedy among others; with a mere doubt the part comes along in case."""
    both = check(
        "saddle",
        fault("sunk", minutes=None, unreliable=True, remedies=("new_cleats", "workshop")),
        options=(maybe("slightly", sunk=0.3),),
    )
    assert codes(judged(both, saddle="sunk")) == ["unreliable"]
    assert codes(judged(both, saddle="slightly")) == ["bring"]


def test_a_part_that_is_ruled_to_come_along_is_named():
    """Also where the fault alone would have been left."""
    found = judged(cleats="worn", rulings={"cleats.worn": Ruling.BRING_PART})
    assert found.reasons[0].text == "Please bring: new cleats. Worn."
    late = judged(cleats="worn", where=slot(today=WEDNESDAY))
    assert late.verdict == Verdict.CLEAR


def test_a_part_is_not_asked_for_twice():
    """A fitter who has ruled otherwise does not want it."""
    assert judged(cleats="worn", rulings={"cleats.worn": Ruling.STUDIO}).verdict == Verdict.CLEAR


def test_accepting_takes_a_finding_out_of_the_verdict_but_not_out_of_the_forecast():
    """The minutes stay, and with them the figures."""
    accepted = judged(gears="slip", rulings={"gears.slip": Ruling.ACCEPT})
    assert accepted.verdict == Verdict.CLEAR
    assert accepted.forecast == judged(gears="slip").forecast


@pytest.mark.parametrize(("big", "code"), [("fine", "clear"), ("slow", "overrun"), ("", "unknown_minutes")])
def test_a_chance_that_leaves_accepted_minutes_aside_says_so(big, code):
    """The figure beside the reasons is the forecast's, with those minutes in it: the two must not seem to contradict each other."""
    checks = (GEARS, check("big", fault("slow", minutes=(40, 60))))
    accepted = judged(*checks, big=big, gears="slip", rulings={"gears.slip": Ruling.ACCEPT})
    assert codes(accepted) == [code]
    assert accepted.reasons[0].text.startswith("What was accepted left aside, ")
    fixed = judged(*checks, big=big, gears="slip", rulings={"gears.slip": Ruling.FIXED})
    assert codes(fixed) == [code]
    assert "left aside" not in fixed.reasons[0].text


def test_a_red_flag_stops_the_session_whatever_the_bike():
    """The verdict speaks of the bike alone."""
    found = judged(pain="numb")
    assert found.stopped
    assert found.verdict == Verdict.CLEAR


def test_no_chance_is_overstated():
    """Percentages are rounded down."""
    almost = check("almost", fault("slow", minutes=(60, 90)), options=(maybe("hardly", slow=0.004),))
    assert "99 %" in judged(almost, almost="hardly").reasons[0].text


@settings(max_examples=60)
@drawn(strategies.triage_inputs())
def test_reasons_come_gravest_first_and_always(drawn_input):
    """The verdict is the first reason's, clear stands alone, every key named exists."""
    found = triage(drawn_input)
    weights = [reason.verdict.weight for reason in found.reasons]
    assert weights == sorted(weights, reverse=True)
    assert found.verdict is found.reasons[0].verdict
    assert (found.verdict is Verdict.CLEAR) == (codes(found) == ["clear"])
    known = {finding.key for finding in found.findings}
    assert {key for reason in found.reasons for key in reason.findings} <= known
    assert all(reason.text for reason in found.reasons)


@settings(max_examples=60)
@drawn(strategies.triage_inputs())
def test_a_hazard_always_wins(drawn_input):
    """Whatever else is found, a standing hazard of the bike is the verdict."""
    found = triage(drawn_input)
    hazards = [each for each in found.findings if each.hazard is Hazard.DO_NOT_RIDE and each.standing > 0]
    assert (found.verdict is Verdict.DO_NOT_RIDE) is bool(hazards)

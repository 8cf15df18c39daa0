"""Suspects, red flags, and what the rider is told."""

from datetime import date

import pytest
from hypothesis import given as drawn
from hypothesis import settings

from intake.catalogue.schema import Adjustment, Hazard
from intake.triage.advice import MECHANIC_FIRST, PAIN_FIRST, TIGHTEN_AS_PRINTED, what_to_do
from intake.triage.answers import Complaint, Ruling
from intake.triage.engine import triage
from tests import strategies
from tests.core.catalogues import WEDNESDAY, check, fault, given, link, maybe, slot

PEDAL = check(
    "pedal",
    fault("rocks", minutes=(10, 25), unreliable=True, remedies=("workshop", "grease")),
    options=(maybe("slightly", rocks=0.4),),
    caution="Keep fingers away from the chain.",
)
CLEATS = check("cleats", fault("worn", minutes=(3, 5), remedies=("new_cleats", "workshop")))
STEM = check("stem", fault("low", minutes=None, remedies=("other_stem",)))
CRASH = check("crash", fault("fall", minutes=None, hazard=Hazard.DO_NOT_RIDE), options=(maybe("not_sure", fall=0.2),))
SIGNS = check(
    "signs",
    fault("chest", minutes=None, hazard=Hazard.EMERGENCY, remedies=()),
    fault("numb", minutes=None, hazard=Hazard.SEE_CLINICIAN, remedies=()),
    options=(maybe("perhaps", chest=0.1, numb=0.2),),
)
LEFT_KNEE = Complaint("knee", "left", 6)
LINKS = [
    link("knee", "pedal.rocks"),
    link("knee", "cleats.worn"),
    link("neck", "stem.low"),
    link("neck", "signs.chest"),
]


def told(*checks, complaints=(), where=None, rulings=None, **answers):
    """What the rider is told."""
    return what_to_do(
        triage(
            given(
                *checks,
                answers=answers,
                complaints=complaints,
                links=LINKS,
                slot=where or slot(),
                rulings=rulings or {},
            )
        )
    )


# ── Suspects ─────────────────────────────────────────────────────────────────────────────────────────────────────────────


def suspected(*checks, complaints, rulings=None, **answers):
    """Which complaints stand beside which findings."""
    found = triage(given(*checks, answers=answers, complaints=complaints, links=LINKS, rulings=rulings or {}))
    return [(each.complaint.area, each.finding.key) for each in found.suspects]


def test_a_complaint_stands_beside_findings_of_its_area():
    """The worst complaint first, sure before likely."""
    pairs = suspected(
        PEDAL,
        CLEATS,
        STEM,
        complaints=[Complaint("neck", "", 3), LEFT_KNEE],
        pedal="slightly",
        cleats="worn",
        stem="low",
    )
    assert pairs == [("knee", "cleats.worn"), ("knee", "pedal.rocks"), ("neck", "stem.low")]


@pytest.mark.parametrize(
    ("complaint", "answer", "rulings"),
    [
        (Complaint("knee", "left", 0), "rocks", {}),
        (Complaint("elbow", "left", 6), "rocks", {}),
        (LEFT_KNEE, "fine", {}),
        (LEFT_KNEE, "", {}),
        (LEFT_KNEE, "rocks", {"pedal.rocks": Ruling.FIXED}),
        (LEFT_KNEE, "rocks", {"pedal.rocks": Ruling.NOT_A_FAULT}),
    ],
)
def test_what_is_no_suspect(complaint, answer, rulings):
    """No complaint, another area, no fault, nothing known, or settled."""
    assert suspected(PEDAL, complaints=[complaint], pedal=answer, rulings=rulings) == []


def test_a_suspect_is_a_possibility():
    """Worth ruling out, never a cause."""
    (suspect,) = triage(given(PEDAL, answers={"pedal": "rocks"}, complaints=[LEFT_KNEE], links=LINKS)).suspects
    assert suspect.text == "Knee, left (6 of 10): worth ruling out first, found: Rocks."


def test_a_medical_sign_is_no_mechanical_suspect():
    """It is a red flag, not a thing to put right on the bike."""
    assert suspected(SIGNS, complaints=[Complaint("neck", "", 9)], signs="chest") == []


# ── Red flags ────────────────────────────────────────────────────────────────────────────────────────────────────────────


def flags(rulings=None, answer="perhaps"):
    """The red flags that stand."""
    found = triage(given(SIGNS, answers={"signs": answer}, rulings=rulings or {}))
    return found.stopped, [flag.finding.key for flag in found.red_flags]


def test_doubtful_signs_stop_the_session_and_emergencies_come_first():
    """A doubt is enough."""
    assert flags() == (True, ["signs.chest", "signs.numb"])
    assert flags(answer="fine") == (False, [])


@pytest.mark.parametrize("ruling", [Ruling.ACCEPT, Ruling.FIX_FIRST, Ruling.STUDIO, Ruling.BRING_PART])
def test_a_red_flag_is_not_the_fitters_to_accept(ruling):
    """Only that it is not so, or has been settled."""
    assert flags({"signs.chest": ruling})[1] == ["signs.chest", "signs.numb"]
    assert flags({"signs.chest": Ruling.FIXED})[1] == ["signs.numb"]
    assert flags({"signs.chest": Ruling.NOT_A_FAULT})[1] == ["signs.numb"]


# ── What the rider is told ───────────────────────────────────────────────────────────────────────────────────────────────


def test_a_bike_that_needs_nothing_needs_no_advice():
    """Every list is empty."""
    advice = told(
        PEDAL, CLEATS, STEM, CRASH, SIGNS, pedal="fine", cleats="fine", stem="fine", crash="fine", signs="fine"
    )
    assert not any(getattr(advice, name) for name in advice.__dataclass_fields__)


def test_what_to_put_right_comes_with_who_and_by_when():
    """The preferred way first, the session's needs before the rest."""
    dirt = check("dirt", fault("dirty", minutes=(2, 4), remedies=("wash",)))
    first, second = told(PEDAL, dirt, pedal="rocks", dirt="dirty").before
    assert (first.finding.key, first.needed, first.by) == ("pedal.rocks", True, date(2026, 3, 11))
    assert [(way.remedy.key, way.fix_by) for way in first.ways] == [
        ("workshop", date(2026, 3, 11)),
        ("grease", date(2026, 3, 17)),
    ]
    assert (second.finding.key, second.needed, second.by) == ("dirt.dirty", False, WEDNESDAY)


def test_what_the_session_hangs_on_comes_before_what_is_merely_sooner():
    """Then by day."""
    soon = check("soon", fault("slow", minutes=(2, 4), remedies=("workshop",)))
    hangs = check("hangs", fault("false", minutes=(2, 4), unreliable=True, remedies=("grease",)))
    errands = told(soon, hangs, soon="slow", hangs="false").before
    assert [(errand.finding.key, errand.by.day) for errand in errands] == [("hangs.false", 17), ("soon.slow", 11)]


def test_what_can_hurt_somebody_comes_first():
    """Though the session hangs on the other as well, and that must start sooner."""
    crack = check("crack", fault("seen", minutes=None, hazard=Hazard.DO_NOT_RIDE, remedies=("grease",)))
    errands = told(PEDAL, crack, pedal="rocks", crack="seen").before
    assert [errand.finding.key for errand in errands] == ["crack.seen", "pedal.rocks"]
    assert errands[1].by < errands[0].by


def test_what_is_too_late_is_not_left_to_the_end():
    """It takes a call to the studio today, the other only a day that is still to come."""
    other = check("other", fault("false", minutes=(2, 4), unreliable=True, remedies=("grease",)))
    post = check("post", fault("stuck", minutes=(3, 5), locks=[Adjustment.SADDLE_HEIGHT], remedies=("workshop",)))
    errands = told(other, post, other="false", post="stuck", where=slot(today=date(2026, 3, 12))).before
    assert [(errand.finding.key, errand.by is None) for errand in errands] == [
        ("post.stuck", True),
        ("other.false", False),
    ]


def test_a_way_that_has_closed_passes_its_day_on():
    """With the workshop late, the rider's own day counts; with all late there is none."""
    (closing,) = told(PEDAL, pedal="rocks", where=slot(today=date(2026, 3, 12))).before
    (closed,) = told(PEDAL, pedal="rocks", where=slot(today=WEDNESDAY)).before
    assert (closing.by, closed.by) == (date(2026, 3, 17), None)


def test_what_to_bring_is_named_once():
    """One part for two findings, with the day to have it by."""
    bars = check("bars", fault("high", minutes=None, remedies=("other_stem",)))
    cleats, stem = told(CLEATS, STEM, bars, cleats="worn", stem="low", bars="high").bring
    assert (cleats.what, cleats.by, cleats.unless_fixed) == ("new cleats", date(2026, 3, 16), True)
    assert (stem.what, stem.unless_fixed) == ("a rising stem", False)
    assert [each.key for each in stem.findings] == ["stem.low", "bars.high"]


@pytest.mark.parametrize(
    ("ruling", "before", "bring", "at_studio"),
    [
        (None, ["cleats.worn"], ["new cleats"], []),
        (Ruling.FIX_FIRST, ["cleats.worn"], [], []),
        (Ruling.BRING_PART, [], ["new cleats"], []),
        (Ruling.STUDIO, [], [], ["cleats.worn"]),
        (Ruling.ACCEPT, [], [], []),
        (Ruling.NOT_A_FAULT, [], [], []),
        (Ruling.FIXED, [], [], []),
    ],
)
def test_a_ruling_moves_a_finding_to_its_list(ruling, before, bring, at_studio):
    """Put right, bring, or leave to the studio."""
    advice = told(CLEATS, cleats="worn", rulings={"cleats.worn": ruling} if ruling else {})
    assert [errand.finding.key for errand in advice.before] == before
    assert [parcel.what for parcel in advice.bring] == bring
    assert [finding.key for finding in advice.at_studio] == at_studio


def test_what_the_studio_would_see_to_anyway_is_left_to_it():
    """Its own preferred remedy, unless the session hangs on it; the workshop's way is then no errand for the rider."""
    bars = check("bars", fault("low", minutes=(3, 5), remedies=("bench", "workshop")))
    slow = check("slow", fault("seized", minutes=(40, 90), remedies=("bench", "workshop")))
    advice = told(bars, slow, bars="low", slow="seized")
    assert [finding.key for finding in advice.at_studio] == ["bars.low"]
    assert [errand.finding.key for errand in advice.before] == ["slow.seized"]


def test_what_not_to_ride_and_what_comes_before_everything():
    """Hazard and red flag in their own lists, with the fault's own words."""
    advice = told(CRASH, SIGNS, crash="not_sure", signs="numb")
    assert advice.do_not_ride == ("Do not ride this bike until a qualified mechanic has ruled this out: Fall.",)
    assert "doctor or physiotherapist" in advice.stop[0]
    assert advice.stop[1] == "About numb."
    assert [errand.finding.key for errand in advice.before] == ["crash.fall"]


def test_cautions_come_where_they_apply():
    """General ones by what is found, each check's own with its finding, none twice."""
    assert told(PEDAL, CLEATS, pedal="rocks", cleats="worn").cautions == (
        TIGHTEN_AS_PRINTED,
        "Keep fingers away from the chain.",
    )
    assert MECHANIC_FIRST in told(CRASH, crash="fall").cautions
    assert told(CRASH, crash="fine", complaints=[LEFT_KNEE]).cautions == (PAIN_FIRST,)


def test_what_is_still_unknown_is_said():
    """By the titles of the checks."""
    assert told(PEDAL, CLEATS, cleats="worn").unknown == ("Check of pedal",)


def test_suspects_are_told_as_possibilities():
    """In the rider's list, too."""
    assert "worth ruling out first" in told(PEDAL, pedal="rocks", complaints=[LEFT_KNEE]).worth_ruling_out[0]


@settings(max_examples=60)
@drawn(strategies.triage_inputs())
def test_nothing_that_keeps_the_session_is_kept_from_the_rider(drawn_input):
    """Any triage can be told; hazards and red flags always are; days are never past."""
    found = triage(drawn_input)
    advice = what_to_do(found)
    assert bool(advice.stop) is found.stopped
    assert len(advice.do_not_ride) == sum(reason.code == "hazard" for reason in found.reasons)
    assert all(errand.by is None or errand.by >= found.slot.today for errand in advice.before)
    assert len({parcel.what for parcel in advice.bring}) == len(advice.bring)


def test_only_the_essential_is_needed():
    """A stuck post that the service never moves is worth doing, and the session does not hang on it."""
    post = check("post", fault("stuck", minutes=(3, 5), locks=[Adjustment.SADDLE_HEIGHT]))
    assert [errand.needed for errand in told(post, post="stuck", where=slot(essential=())).before] == [False]
    assert [errand.needed for errand in told(post, post="stuck").before] == [True]

"""The shipped catalogue holds every agreed check with its effects and minutes, in words that a rider can follow."""

import re
from collections import Counter

import pytest

from intake.catalogue.loader import load_catalogue
from intake.catalogue.schema import Adjustment, BikeKind, Check, Fault, Freedom, Group, Hazard, Who

# Minutes are median / 90th percentile at the bench: common practice, no source.
# Columns: check, fault, locked adjustments, limited adjustments, minutes, do not ride, readings unreliable.
CLEATS = "cleat_fore_aft cleat_lateral cleat_rotation"
FRONT = "bar_height_up bar_height_down bar_reach bar_rotation"
FAULTS = [
    ("post_slides", "stuck", "saddle_height", "", (40, 100), False, False),
    ("post_slides", "forced", "", "saddle_height", (15, 35), False, False),
    ("post_slides", "bolt_stuck", "saddle_height", "", (40, 100), False, False),
    ("post_kind", "mast", "", "saddle_height", None, False, False),
    ("seat_bolts", "seized", "saddle_height", "", (20, 50), False, False),
    ("seat_bolts", "rounded", "saddle_height", "", (20, 50), False, False),
    ("seat_bolts", "corroded", "saddle_height", "", (20, 50), False, False),
    ("rail_bolts", "seized", "saddle_setback saddle_tilt", "", (20, 50), False, False),
    ("rail_bolts", "rounded", "saddle_setback saddle_tilt", "", (20, 50), False, False),
    ("rail_bolts", "corroded", "saddle_setback saddle_tilt", "", (20, 50), False, False),
    ("post_insertion", "mark_showing", "", "saddle_height", (5, 10), True, False),
    ("saddle_shell", "sunk", "", "", (15, 30), False, True),
    ("saddle_shell", "cracked", "", "", (15, 30), False, True),
    ("saddle_rails", "bent", "saddle_tilt", "", (15, 30), False, True),
    ("saddle_rails", "cracked", "saddle_tilt", "", (15, 30), True, True),
    ("rail_marks", "at_end", "", "saddle_setback", None, False, False),
    ("rail_marks", "outside", "", "saddle_setback", (5, 10), True, False),
    ("front_bolts", "seized", FRONT, "", (25, 70), False, False),
    ("front_bolts", "rounded", FRONT, "", (25, 70), False, False),
    ("front_bolts", "corroded", FRONT, "", (25, 70), False, False),
    ("spacers", "none_over", "", "bar_height_up", (5, 10), False, False),
    ("spacers", "none_under", "", "bar_height_down", (5, 10), False, False),
    ("cockpit_kind", "one_piece", "bar_rotation", "bar_reach bar_height_up bar_height_down", (45, 120), False, False),
    ("hose_routing", "through_headset", "", "bar_reach bar_height_up bar_height_down", (45, 120), False, False),
    ("lever_match", "differ", "", "lever_position", (10, 25), False, False),
    ("lever_match", "turned", "", "lever_position", (10, 25), False, False),
    ("bar_straight", "twisted", "", "bar_rotation", (5, 15), False, False),
    ("bar_straight", "bent", "", "bar_rotation", (5, 15), True, True),
    ("headset_play", "play", "", "", (10, 25), False, False),
    ("headset_play", "marked", "", "", (10, 25), True, False),
    ("hose_slack", "taut", "", "bar_height_up bar_reach", (20, 60), False, False),
    ("pad_bolts", "seized", "pad_height pad_reach pad_width", "", (20, 50), False, False),
    ("cleat_wear", "at_marker", "", CLEATS, (15, 30), False, False),
    ("cleat_wear", "past_marker", "", CLEATS, (15, 30), False, True),
    ("cleat_bolts", "seized", CLEATS, "", (20, 60), False, False),
    ("cleat_bolts", "rounded", CLEATS, "", (20, 60), False, False),
    ("pedal_hold", "weak", "", "", (5, 10), False, True),
    ("pedal_hold", "lets_go", "", "", (5, 10), True, True),
    ("pedal_rock", "rocks", "", "", (10, 25), False, True),
    ("pedal_rock", "gritty", "", "", (10, 25), False, False),
    ("shoes", "cracked", "", CLEATS, (5, 15), False, False),
    ("shoes", "closure", "", CLEATS, (5, 15), False, False),
    ("shoes", "other_pair", "", CLEATS, (5, 15), False, False),
    ("crank_play", "play", "", "", (15, 40), False, True),
    ("crash", "fall", "", "", None, True, False),
    ("crash", "crack_seen", "", "", None, True, False),
    ("brakes_wheels_tyres", "not_safe", "", "", (15, 40), True, False),
    ("gears", "slipping", "", "", (10, 25), False, False),
    ("axle_standard", "unknown", "", "", (5, 15), False, False),
    ("axle_standard", "unusual", "", "", (5, 15), False, False),
    ("cleanliness", "dirty", "", "", (10, 20), False, False),
    ("bring", "shoes_missing", CLEATS, "", (5, 20), False, False),
    ("bring", "pedals_missing", "", "", (5, 20), False, True),
    ("bring", "kit_missing", "", "", (5, 20), False, False),
]

CATALOGUE = load_catalogue()
ALL_FAULTS = [(check, fault) for check in CATALOGUE.checks for fault in check.faults]
REFERRALS = {Hazard.SEE_CLINICIAN, Hazard.EMERGENCY}

LONGEST_SENTENCE_WORDS = 24
MEAN_SENTENCE_WORDS = 13


def fault_of(check: str, fault: str) -> Fault:
    return CATALOGUE.check(check).fault(fault)


def held(fault: Fault, freedom: Freedom) -> set[str]:
    return {adjustment.value for adjustment, how in fault.effects.items() if how is freedom}


def sentences(text: str) -> list[str]:
    return [part for part in re.split(r"(?<=[.?!])\s+", text) if part]


def rider_texts(check: Check) -> list[str]:
    return [
        check.question,
        check.why,
        *check.steps,
        *([check.caution] if check.caution else []),
        *(fault.rider_text for fault in check.faults),
    ]


REMEDY_DETAILS = [remedy.detail for remedy in CATALOGUE.remedies.values()]


@pytest.mark.parametrize(("check", "key", "locked", "limited", "minutes", "stop", "unreliable"), FAULTS)
def test_each_fault_has_its_agreed_effects_and_minutes(check, key, locked, limited, minutes, stop, unreliable):
    """What a fault locks, limits, costs and endangers is what the trade's table says."""
    fault = fault_of(check, key)
    assert held(fault, Freedom.LOCKED) == set(locked.split())
    assert held(fault, Freedom.LIMITED) == set(limited.split())
    assert (fault.minutes and (fault.minutes.median_min, fault.minutes.p90_min)) == minutes
    assert (fault.hazard is Hazard.DO_NOT_RIDE) == stop
    assert fault.unreliable == unreliable


def test_the_table_above_leaves_out_only_what_concerns_the_rider_in_person():
    """A fault added to the catalogue must be added to the table, unless it is a matter for a clinician."""
    listed = {(check, key) for check, key, *_ in FAULTS}
    assert {(check.key, fault.key) for check, fault in ALL_FAULTS if fault.hazard not in REFERRALS} == listed


def test_every_adjustment_of_a_session_can_be_held_by_some_fault():
    """No adjustment is forgotten."""
    assert {adjustment for _, fault in ALL_FAULTS for adjustment in fault.effects} == set(Adjustment)


def test_checks_stand_in_the_order_of_the_riders_pages():
    """Groups follow one another in the file as they do on the pages, and each has checks."""
    groups = [check.group for check in CATALOGUE.checks]
    assert groups == sorted(groups, key=list(Group).index)
    assert set(groups) == set(Group)


def test_conditions_wait_only_for_earlier_checks():
    """Read from top to bottom, every answer that a condition needs can have been given."""
    places = {check.key: place for place, check in enumerate(CATALOGUE.checks)}
    waits = [
        (check.key, condition.subject.removeprefix("answer."))
        for check in CATALOGUE.checks
        for condition in check.conditions
        if condition.subject.startswith("answer.")
    ]
    assert waits
    assert [pair for pair in waits if places[pair[1]] >= places[pair[0]]] == []


@pytest.mark.parametrize("check", ["cleat_wear", "cleat_bolts", "pedal_hold"])
def test_cleat_checks_are_left_out_for_flat_pedals(check):
    """Known from the bike or from the answer, flat pedals spare the rider the questions on cleats."""
    conditions = {(each.subject, each.among, each.unless) for each in CATALOGUE.check(check).conditions}
    assert {("bike.pedal_kind", ("flat",), True), ("answer.pedal_kind", ("flat",), True)} <= conditions


@pytest.mark.parametrize("check", ["post_slides", "post_insertion"])
def test_post_checks_are_left_out_for_a_mast(check):
    """A mast does not slide in the frame."""
    conditions = {(each.subject, each.among, each.unless) for each in CATALOGUE.check(check).conditions}
    assert {("bike.post_kind", ("mast",), True), ("answer.post_kind", ("mast",), True)} <= conditions


@pytest.mark.parametrize("check", ["front_bolts", "hose_routing"])
def test_stem_checks_are_left_out_for_a_one_piece_cockpit(check):
    """A one-piece cockpit has no faceplate, and its hoses are counted with it."""
    conditions = {(each.subject, each.among, each.unless) for each in CATALOGUE.check(check).conditions}
    assert {("bike.cockpit", ("separate",), False), ("answer.cockpit_kind", ("one_piece",), True)} <= conditions


def test_only_triathlon_bikes_are_asked_for_aero_bars():
    """Other bikes are spared the question."""
    assert CATALOGUE.check("pad_bolts").kinds == (BikeKind.TRIATHLON,)


def test_lever_tips_that_differ_by_four_millimetres_do_not_match():
    """The rule compares left with right by their absolute difference; the limit is common practice, no source."""
    (rule,) = CATALOGUE.check("lever_match").rules
    assert (rule.fault, rule.at_least_mm, rule.at_most_mm) == ("differ", 4, None)
    assert {rule.field, rule.minus} == {"left_tip_mm", "right_tip_mm"}


def test_spacers_decide_up_and_down_by_themselves():
    """None over the stem stops the bar going up; none under it stops it going down."""
    rules = {(rule.field, rule.fault) for rule in CATALOGUE.check("spacers").rules}
    assert rules == {("over_mm", "none_over"), ("under_mm", "none_under")}


@pytest.mark.parametrize("fact", ["post_kind", "cockpit", "routing", "pedal_kind", "indoors"])
def test_each_fact_that_decides_something_is_asked_for_once(fact):
    """What is known of the bike need not be asked, and what is not known has one check that asks."""
    assert len([check for check in CATALOGUE.checks if check.fact == fact]) == 1


@pytest.mark.parametrize("check", CATALOGUE.checks, ids=lambda check: check.key)
def test_each_check_has_a_clear_answer(check):
    """A rider whose bike is in order can say so, and nothing is held against the session."""
    assert any(not option.faults for option in check.options)


@pytest.mark.parametrize("check", CATALOGUE.checks, ids=lambda check: check.key)
def test_each_fault_that_can_be_seen_has_a_sure_answer(check):
    """No fault can only be hinted at."""
    sure = {key for option in check.options for key, chance in option.faults.items() if chance >= 0.9}
    assert {fault.key for fault in check.faults} == sure


def test_the_whole_check_fits_into_an_evening():
    """Every check together takes a rider between half an hour and an hour and a quarter."""
    assert 30 <= sum(check.home_min for check in CATALOGUE.checks) <= 75


@pytest.mark.parametrize(("check", "fault"), ALL_FAULTS, ids=lambda each: each.key)
def test_each_fault_has_remedies_and_hazards_are_never_left_to_the_rider(check, fault):
    """What can hurt somebody is inspected by a workshop, or waits at the studio for a clinician's word."""
    remedies = [CATALOGUE.remedies[key] for key in fault.remedies]
    assert remedies
    if fault.hazard is Hazard.DO_NOT_RIDE:
        assert {remedy.who for remedy in remedies} == {Who.WORKSHOP}
        assert all("without riding" in remedy.detail or "not ride" in remedy.detail for remedy in remedies)
        assert re.search(r"Please do not ride", fault.rider_text)
    if fault.hazard in REFERRALS:
        assert {remedy.who for remedy in remedies} == {Who.STUDIO}


def test_lead_times_are_in_the_usual_bands():
    """A rider needs days, a workshop up to a week, ordered parts two weeks at most; common practice, no source."""
    bands = {Who.RIDER: (1, 5), Who.BRING: (1, 5), Who.WORKSHOP: (3, 10), Who.STUDIO: (0, 10)}
    for remedy in CATALOGUE.remedies.values():
        least, most = bands[remedy.who]
        assert least <= remedy.lead_days <= most, remedy.key


def test_every_remedy_and_area_is_used():
    """Nothing lies in the file unread; what is to be brought is named."""
    used = Counter(key for _, fault in ALL_FAULTS for key in fault.remedies)
    assert set(CATALOGUE.remedies) == set(used)
    assert all(remedy.part for remedy in CATALOGUE.remedies.values() if remedy.who is Who.BRING)


@pytest.mark.parametrize(
    ("check", "fault", "areas"),
    [
        ("saddle_shell", "sunk", {"lower_back", "hip", "buttock", "knee_front"}),
        ("cleat_wear", "past_marker", {"knee_inner", "knee_outer"}),
        ("pedal_rock", "rocks", {"knee_inner", "knee_outer"}),
        ("lever_match", "differ", {"shoulder", "neck", "wrist_hand"}),
        ("hose_slack", "taut", {"neck", "wrist_hand"}),
    ],
)
def test_faults_name_the_complaints_worth_pairing_with_them(check, fault, areas):
    """Common practice, no source: these are possibilities to rule out first, never causes."""
    assert areas <= {link.area for link in CATALOGUE.links if link.finding == f"{check}.{fault}"}


@pytest.mark.parametrize("check", CATALOGUE.checks, ids=lambda check: check.key)
def test_words_are_short_and_plain(check):
    """A rider reads it on a phone beside the bike: short sentences, no shouting, a question that asks."""
    parts = [sentence for text in rider_texts(check) for sentence in sentences(text)]
    too_long = [part for part in parts if len(part.split()) > LONGEST_SENTENCE_WORDS]
    assert too_long == []
    assert sum(len(part.split()) for part in parts) / len(parts) <= MEAN_SENTENCE_WORDS
    assert check.question.endswith("?")
    assert not any("!" in part for part in parts)
    assert all(part[-1] in ".?" for part in parts)
    assert all(len(option.label) <= 90 for option in check.options)


@pytest.mark.parametrize("detail", REMEDY_DETAILS)
def test_remedies_are_told_in_short_sentences(detail):
    """The same holds for what is to be done."""
    assert all(len(part.split()) <= LONGEST_SENTENCE_WORDS for part in sentences(detail))
    assert detail.endswith(".")


@pytest.mark.parametrize("check", [each for each in CATALOGUE.checks if "A torque tool" in each.tools], ids=str)
def test_a_check_that_turns_bolts_says_how_to_do_it_safely(check):
    """The figure on the part, a torque tool, no force; and a way out for a rider without one."""
    words = " ".join([*check.steps, check.caution]).lower()
    assert "figure" in words
    assert "never" in check.caution.lower()
    assert "no torque tool" in words
    assert "mark" in words or "line" in words


def test_the_post_goes_back_to_its_mark():
    """The height is marked before anything is loosened, and restored before anything is tightened."""
    steps = CATALOGUE.check("post_slides").steps
    mark, loosen, back, tighten = (
        next(place for place, step in enumerate(steps) if re.search(pattern, step))
        for pattern in (r"tape round the post", r"^Loosen", r"^Put it back", r"^Tighten")
    )
    assert mark < loosen < back < tighten

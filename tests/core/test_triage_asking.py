"""Which checks are asked, and which is worth asking next."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given as drawn
from hypothesis import settings

from intake.catalogue.schema import COULD_NOT, Adjustment, AnswerOption, BikeKind, Condition, Group, Hazard
from intake.triage.answers import Answer, BikeFacts
from intake.triage.asking import asked_checks
from intake.triage.engine import triage
from intake.triage.errors import ConditionCycleError, ConditionSubjectError
from intake.triage.lognormal import discretised
from intake.triage.page_order import page_order
from tests import strategies
from tests.core.catalogues import ROAD, catalogue, check, fault, given, maybe, slot


def asked(checks, bike=ROAD, **answers):
    """The keys of what is asked."""
    found = asked_checks(catalogue(*checks), bike, {key: Answer(option) for key, option in answers.items()})
    return [each.key for each in found]


def waits(subject, *among, unless=False):
    """A check that waits for a condition."""
    return check("waiting", conditions=(Condition(subject, among, unless),))


def test_checks_come_group_by_group():
    """In the order of the groups, and of the catalogue within one."""
    checks = [
        check("cleat", group=Group.FEET),
        check("post", group=Group.SEAT),
        check("pain", group=Group.RIDER),
        check("rail", group=Group.SEAT),
    ]
    assert asked(checks) == ["pain", "post", "rail", "cleat"]


def test_some_checks_are_for_some_kinds_of_bike():
    """No kinds means every kind."""
    checks = [check("pads", kinds=(BikeKind.TRIATHLON,)), check("post")]
    assert asked(checks) == ["post"]
    assert asked(checks, BikeFacts(BikeKind.TRIATHLON)) == ["pads", "post"]


@pytest.mark.parametrize(
    ("facts", "unless", "expected"),
    [
        ({}, False, True),
        ({}, True, True),
        ({"routing": "outside"}, False, True),
        ({"routing": "outside"}, True, False),
        ({"routing": "hidden"}, False, False),
        ({"routing": "hidden"}, True, True),
    ],
)
def test_conditions_on_the_bike(facts, unless, expected):
    """An unknown fact keeps no check away."""
    checks = [waits("bike.routing", "outside", unless=unless)]
    assert bool(asked(checks, BikeFacts(BikeKind.ROAD, facts))) is expected


def test_the_kind_is_a_fact_that_is_always_known():
    """Conditions can name it."""
    assert asked([waits("bike.kind", "road")]) == ["waiting"]
    assert asked([waits("bike.kind", "city")]) == []


@pytest.mark.parametrize(
    ("answer", "unless", "expected"),
    [
        (None, False, False),
        (None, True, True),
        ("stuck", False, True),
        ("stuck", True, False),
        ("fine", False, False),
        ("fine", True, True),
        (COULD_NOT, False, False),
        (COULD_NOT, True, True),
        ("retired", False, False),
        ("retired", True, True),
    ],
)
def test_conditions_on_an_answer(answer, unless, expected):
    """`among` waits for its answer, `unless` lets the check be asked until then."""
    checks = [check("post", fault("stuck")), waits("answer.post", "stuck", unless=unless)]
    answers = {"post": answer} if answer else {}
    assert ("waiting" in asked(checks, **answers)) is expected


def test_an_answer_that_is_no_longer_asked_decides_nothing():
    """The rider answers, then the check before it changes: what hung on it closes again."""
    first = check("kind", fault("mast"))
    second = check("slides", fault("stuck"), conditions=(Condition("answer.kind", ("fine",)),))
    third = check("oil", conditions=(Condition("answer.slides", ("stuck",)),))
    assert asked([first, second, third], kind="fine", slides="stuck") == ["kind", "slides", "oil"]
    assert asked([first, second, third], kind="mast", slides="stuck") == ["kind"]


def test_a_check_can_wait_for_one_that_comes_later():
    """The order of the pages is not the order of dependence."""
    late = check("late", fault("stuck"), group=Group.FEET)
    early = check("early", conditions=(Condition("answer.late", ("stuck",)),), group=Group.RIDER)
    assert asked([early, late], late="stuck") == ["early", "late"]


def test_a_condition_on_a_check_that_is_gone_is_not_met():
    """As if it had no answer."""
    assert asked([waits("answer.gone", "fine")], gone="fine") == []
    assert asked([waits("answer.gone", "fine", unless=True)], gone="fine") == ["waiting"]


def test_a_known_fact_answers_its_check():
    """It is not asked, and its answer counts for others; a value that is no answer leaves it to be asked."""
    cockpit = check("cockpit_kind", fault("one_piece"), fact="cockpit")
    stem = check("stem", conditions=(Condition("answer.cockpit_kind", ("one_piece",), unless=True),))
    assert asked([cockpit, stem]) == ["cockpit_kind", "stem"]
    assert asked([cockpit, stem], BikeFacts(BikeKind.ROAD, {"cockpit": "one_piece"})) == []
    assert asked([cockpit, stem], BikeFacts(BikeKind.ROAD, {"cockpit": "fine"})) == ["stem"]
    assert asked([cockpit, stem], BikeFacts(BikeKind.ROAD, {"cockpit": "odd"})) == ["cockpit_kind", "stem"]


def test_a_circle_of_conditions_is_named():
    """Not endless, and the message names the checks in it."""
    one = check("one", conditions=(Condition("answer.two", ("fine",)),))
    two = check("two", conditions=(Condition("answer.one", ("fine",)),))
    with pytest.raises(ConditionCycleError) as circle:
        asked([check("zero", conditions=(Condition("answer.one", ("fine",)),)), one, two])
    assert circle.value.checks == ("one", "two", "one")


@pytest.mark.parametrize("subject", ["weather", "rider.age", "answer.", ""])
def test_a_condition_about_nothing_is_named(subject):
    """Neither the bike nor an answer."""
    with pytest.raises(ConditionSubjectError, match="not “"):
        asked([waits(subject, "fine")])


# ── What to ask next ─────────────────────────────────────────────────────────────────────────────────────────────────────

HEIGHT = slot(essential=(Adjustment.SADDLE_HEIGHT,), slack_min=20)


def questions(*checks, where=HEIGHT, **answers):
    """The ranked questions."""
    return triage(given(*checks, answers=answers, slot=where)).questions


def chance_of_good(faults_there, where):
    """The chance that the session is good when exactly these faults are there, straight from the definition."""
    if any(f.effects.get(each) for f in faults_there for each in where.essential):
        return 0.0
    pmf = np.eye(1, 400)[0]
    for f in faults_there:
        if f.minutes:
            pmf = np.convolve(pmf, discretised(f.minutes, 400))[:400]
    return pmf[: where.slack_min + 1].sum()


def good_by_enumeration(checks, where, known=None):
    """Sum over every combination of faults of all checks; `known` fixes the fault (or None) of some."""
    ways = []
    for each in checks:
        if known and each.key in known:
            ways.append([(1.0, known[each.key])])
        else:
            ways.append([(1 - sum(f.rate for f in each.faults), None), *((f.rate, f) for f in each.faults)])
    return sum(
        np.prod([share for share, _ in way]) * chance_of_good([f for _, f in way if f], where) for way in product(*ways)
    )


SMALL = [
    check(
        "post",
        fault("stuck", rate=0.12, minutes=(40, 100), locks=[Adjustment.SADDLE_HEIGHT]),
        fault("tight", rate=0.2, minutes=(15, 35)),
    ),
    check("cleat", fault("worn", rate=0.3, minutes=(15, 30))),
    check("gears", fault("slip", rate=0.25, minutes=(10, 25)), home_min=4),
    check("dirt", fault("dirty", rate=0.4, minutes=(4, 9))),
    check("note", fault("mast", rate=0.1, minutes=None)),
]


def test_what_a_question_is_worth_is_exact():
    """Each outcome's chance, the gain and the sharpening against an enumeration of every combination of faults."""
    now = good_by_enumeration(SMALL, HEIGHT)
    for question in questions(*SMALL):
        outcomes = [None, *question.check.faults]
        good = [good_by_enumeration(SMALL, HEIGHT, {question.check.key: each}) for each in outcomes]
        shares = [1 - sum(f.rate for f in question.check.faults), *(f.rate for f in question.check.faults)]
        assert [each.good for each in question.outcomes] == pytest.approx(good, abs=1e-12)
        assert [each.probability for each in question.outcomes] == pytest.approx(shares)
        right = sum(share * max(one, 1 - one) for share, one in zip(shares, good, strict=True))
        assert question.gain == pytest.approx(right - max(now, 1 - now), abs=1e-12)
        spread = sum(share * (one - now) ** 2 for share, one in zip(shares, good, strict=True))
        assert question.sharpening == pytest.approx(spread, abs=1e-12)
        assert question.decides is any((one >= 0.5) != (now >= 0.5) for one in good)


def test_the_question_that_turns_the_decision_comes_first():
    """A post that may well be stuck before gears, gears before a note that changes nothing."""
    ranked = [question.check.key for question in questions(*SMALL)]
    assert ranked[0] == "post"
    assert ranked.index("gears") < ranked.index("dirt") < ranked.index("note")


def test_equal_worth_is_ordered_by_the_riders_minutes():
    """The same fault behind two checks: the quicker one first."""
    slow = check("slow", fault("worn", minutes=(15, 30)), home_min=9)
    quick = check("quick", fault("worn", minutes=(15, 30)), home_min=1)
    assert [question.check.key for question in questions(slow, quick)] == ["quick", "slow"]


def test_a_hazard_decides_like_a_lock():
    """It costs no minutes, and yet no session is good with it."""
    crash = check("crash", fault("fall", minutes=None, hazard=Hazard.DO_NOT_RIDE))
    (question,) = questions(crash)
    assert [each.good for each in question.outcomes] == [1, 0]


def test_only_open_questions_are_ranked():
    """Neither what is answered, nor what the rider tried and could not do."""
    assert [q.check.key for q in questions(*SMALL, post="fine", cleat=COULD_NOT)] == ["gears", "dirt", "note"]


def test_what_could_not_be_done_still_counts_for_the_others():
    """Its faults stay possible by their usual rates."""
    open_ = {q.check.key: q.outcomes for q in questions(*SMALL)}
    tried = {q.check.key: q.outcomes for q in questions(*SMALL, post=COULD_NOT)}
    assert tried["cleat"] == open_["cleat"]


def test_a_certain_lock_does_not_silence_the_rest():
    """It will have to be put right anyway, and the rest is asked as if it were."""
    stuck = {q.check.key: q for q in questions(*SMALL, post="stuck")}
    fine = {q.check.key: q for q in questions(*SMALL, post="fine")}
    assert stuck["cleat"].gain == pytest.approx(fine["cleat"].gain)
    assert stuck["cleat"].sharpening > 0


@settings(max_examples=60)
@drawn(strategies.triage_inputs())
def test_every_question_agrees_on_what_is_believed_now(drawn_input):
    """Outcomes add to one, and weighed by them every question gives the same chance; no answer can be worth less than nothing."""
    ranked = triage(drawn_input).questions
    weighed = [sum(each.probability * each.good for each in question.outcomes) for question in ranked]
    for question in ranked:
        assert sum(each.probability for each in question.outcomes) == pytest.approx(1)
        assert 0 <= question.gain <= 0.5 + 1e-9
    assert weighed == pytest.approx([weighed[0]] * len(weighed) if weighed else [], abs=1e-9)


def test_the_pages_keep_groups_together():
    """Answered checks stay in front of their group; the open ones follow by worth."""
    checks = [
        check("dirt", fault("dirty", rate=0.4, minutes=(4, 9))),
        check("post", fault("stuck", minutes=(40, 100))),
        check("clamp", fault("seized"), options=(AnswerOption("ok", "OK"),)),
        check("pain", group=Group.RIDER),
        check("gears", fault("slip"), options=(maybe("perhaps", slip=0.5),), group=Group.WHOLE),
    ]
    found = triage(given(*checks, answers={"clamp": "ok"}))
    assert [each.key for each in page_order(catalogue(*checks), found.asked, found.questions, ["clamp"])] == [
        "pain",
        "gears",
        "clamp",
        "post",
        "dirt",
    ]


def test_a_check_comes_after_the_one_that_it_hangs_on():
    """Even where its own answer is worth more than that of its parent."""
    child = check(
        "stem",
        fault("seized", rate=0.3, minutes=(60, 90)),
        conditions=(Condition("answer.kind", ("odd",), unless=True),),
    )
    parent = check("kind", fault("odd", rate=0.01, minutes=None))
    found = triage(given(parent, child))
    assert [question.check.key for question in found.questions] == ["stem", "kind"]
    assert [each.key for each in page_order(catalogue(parent, child), found.asked, found.questions, [])] == [
        "kind",
        "stem",
    ]

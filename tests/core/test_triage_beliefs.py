"""What an answer says about the faults of its check."""

import math

import pytest
from hypothesis import given as drawn
from hypothesis import strategies as st

from intake.catalogue.schema import COULD_NOT, AnswerOption, NumberField, NumberRule
from intake.triage.answers import Answer, Experience
from intake.triage.beliefs import believe, can_answer, check_answer, usual_rates
from intake.triage.errors import (
    ImpossibleProbabilityError,
    LengthRefusedError,
    UnknownLengthError,
    UnknownOptionError,
)
from tests import strategies
from tests.core.catalogues import check, fault, maybe

NO_EXPERIENCE = Experience()
SPACERS = check(
    "spacers",
    fault("none_over", rate=0.2),
    fault("none_under", rate=0.1),
    fault("cracked", rate=0.05),
    options=(maybe("hidden", none_over=0.4, none_under=0.1),),
    numbers=(
        NumberField("over_mm", "Over the stem", 0, 80, "Spacers from 0 to 80 mm."),
        NumberField("under_mm", "Under the stem", 0, 100, "Spacers from 0 to 100 mm."),
    ),
    rules=(
        NumberRule("none_over", "over_mm", at_most_mm=2),
        NumberRule("none_under", "under_mm", at_most_mm=2),
    ),
)
LEVERS = check(
    "levers",
    fault("differ", rate=0.3),
    numbers=tuple(NumberField(key, key, 400, 1400, "Not a height.") for key in ("left_mm", "right_mm")),
    rules=(NumberRule("differ", "left_mm", minus="right_mm", at_least_mm=4),),
)


def says(one, option="", **lengths_mm):
    """The fault probabilities after an answer."""
    return dict(believe(one, Answer(option, lengths_mm), NO_EXPERIENCE).probabilities)


@pytest.mark.parametrize(
    ("option", "lengths_mm", "expected"),
    [
        ("fine", {}, (0, 0, 0)),
        ("none_over", {}, (1, 0, 0)),
        ("hidden", {}, (0.4, 0.1, 0)),
        ("", {}, (0.2, 0.1, 0.05)),
        (COULD_NOT, {}, (0.2, 0.1, 0.05)),
        ("retired", {}, (0.2, 0.1, 0.05)),
        ("", {"over_mm": 2}, (1, 0, 0)),
        ("", {"over_mm": 2.1}, (0, 0.1, 0.05)),
        ("", {"over_mm": 0, "under_mm": 0}, (1, 1, 0)),
        ("", {"over_mm": 20, "under_mm": 20}, (0, 0, 0.05)),
        ("fine", {"over_mm": 0}, (1, 0, 0)),
        ("none_over", {"over_mm": 20}, (0, 0, 0)),
        ("hidden", {"over_mm": 20}, (0, 0.1, 0)),
        (COULD_NOT, {"over_mm": 20}, (0, 0.1, 0.05)),
        ("", {"over_mm": 200}, (0.2, 0.1, 0.05)),
        ("", {"over_mm": math.nan}, (0.2, 0.1, 0.05)),
        ("", {"elsewhere_mm": 0}, (0.2, 0.1, 0.05)),
    ],
)
def test_lengths_decide_then_the_option_then_the_usual_rate(option, lengths_mm, expected):
    """Every way to answer, each fault by the strongest thing that was said about it."""
    assert tuple(says(SPACERS, option, **lengths_mm).values()) == expected


@pytest.mark.parametrize(
    ("left_mm", "right_mm", "differ"), [(900, 904, 1), (904, 900, 1), (900, 903.9, 0), (900, 900, 0)]
)
def test_a_difference_of_two_lengths_has_no_sign(left_mm, right_mm, differ):
    """Four millimetres count whichever side is higher."""
    assert says(LEVERS, left_mm=left_mm, right_mm=right_mm) == {"differ": differ}


def test_one_length_of_two_leaves_the_difference_open():
    """The usual rate stays, and the check counts as without an answer."""
    belief = believe(LEVERS, Answer("", {"left_mm": 900}), NO_EXPERIENCE)
    assert belief.probabilities == {"differ": 0.3}
    assert not belief.answered


def test_several_rules_for_one_fault():
    """Any that holds shows it; only all of them rule it out."""
    bent = check(
        "bar",
        fault("bent", rate=0.1),
        numbers=tuple(NumberField(key, key, 0, 100, "No.") for key in ("a_mm", "b_mm")),
        rules=(NumberRule("bent", "a_mm", at_least_mm=5), NumberRule("bent", "b_mm", at_least_mm=5)),
    )
    assert says(bent, a_mm=6) == {"bent": 1}
    assert says(bent, a_mm=1) == {"bent": 0.1}
    assert says(bent, a_mm=1, b_mm=9) == {"bent": 1}
    assert says(bent, a_mm=1, b_mm=1) == {"bent": 0}


def test_a_rule_with_two_limits_holds_between_them():
    """At least 10 and at most 20."""
    band = check(
        "band",
        fault("inside"),
        numbers=(NumberField("a_mm", "a", 0, 100, "No."),),
        rules=(NumberRule("inside", "a_mm", at_least_mm=10, at_most_mm=20),),
    )
    assert [says(band, a_mm=a)["inside"] for a in (9, 10, 20, 21)] == [0, 1, 1, 0]


@pytest.mark.parametrize(
    ("option", "lengths_mm", "said", "answered", "could_not"),
    [
        ("", {}, set(), False, False),
        (COULD_NOT, {}, set(), False, True),
        ("fine", {}, {"none_over", "none_under", "cracked"}, True, False),
        ("", {"over_mm": 20}, {"none_over"}, True, False),
        ("", {"over_mm": 0}, {"none_over", "none_under", "cracked"}, True, False),
        (COULD_NOT, {"over_mm": 20}, {"none_over"}, True, True),
    ],
)
def test_what_is_known_and_what_is_not(option, lengths_mm, said, answered, could_not):
    """Which faults an answer speaks of."""
    belief = believe(SPACERS, Answer(option, lengths_mm), NO_EXPERIENCE)
    assert (belief.said, belief.answered, belief.could_not) == (said, answered, could_not)


def test_a_studios_own_rate_replaces_the_catalogues():
    """Only for the fault that it names."""
    belief = believe(SPACERS, None, Experience(rates={"spacers.none_over": 0.6, "spacers.retired": 0.9}))
    assert dict(belief.probabilities) == {"none_over": 0.6, "none_under": 0.1, "cracked": 0.05}


def test_rates_learned_one_by_one_are_scaled_to_exclude_one_another():
    """Rates of 0.9, 0.9 and 0.2 cannot all stand; their proportions do."""
    learned = {"spacers.none_over": 0.9, "spacers.none_under": 0.9, "spacers.cracked": 0.2}
    rates = usual_rates(SPACERS, Experience(rates=learned))
    assert sum(rates.values()) == pytest.approx(1)
    assert rates["none_over"] == pytest.approx(0.45)


@pytest.mark.parametrize("rate", [-0.1, 1.5, math.nan])
def test_an_absurd_rate_is_refused_by_name(rate):
    """The message names the fault."""
    with pytest.raises(ImpossibleProbabilityError, match=r"spacers\.cracked"):
        believe(SPACERS, None, Experience(rates={"spacers.cracked": rate}))


def test_an_absurd_option_is_refused_by_name():
    """Exclusive faults that add to more than one."""
    odd = check("odd", fault("a"), fault("b"), options=(AnswerOption("both", "Both", {"a": 0.7, "b": 0.7}),))
    with pytest.raises(ImpossibleProbabilityError, match="odd"):
        believe(odd, Answer("both"), NO_EXPERIENCE)


@pytest.mark.parametrize(
    ("answer", "error"),
    [
        (Answer(), None),
        (Answer("fine"), None),
        (Answer(COULD_NOT, {"over_mm": 80}), None),
        (Answer("retired"), UnknownOptionError),
        (Answer("fine", {"elsewhere_mm": 3}), UnknownLengthError),
        (Answer("", {"over_mm": 80.1}), LengthRefusedError),
        (Answer("", {"over_mm": -1}), LengthRefusedError),
        (Answer("", {"over_mm": math.nan}), LengthRefusedError),
    ],
)
def test_answers_that_do_not_fit_their_check(answer, error):
    """One table for the reason and for the plain yes or no."""
    assert can_answer(SPACERS, answer) is (error is None)
    if error:
        with pytest.raises(error):
            check_answer(SPACERS, answer)
    else:
        check_answer(SPACERS, answer)


def test_a_refused_length_is_refused_in_the_catalogues_words():
    """The rider reads the field's own refusal."""
    with pytest.raises(LengthRefusedError, match="Spacers from 0 to 80 mm"):
        check_answer(SPACERS, Answer("", {"over_mm": 800}))


@drawn(st.data())
def test_beliefs_are_probabilities(data):
    """Whatever is answered, doubtful faults add to at most one."""
    one = data.draw(strategies.checks("check0"))
    belief = believe(one, data.draw(st.none() | strategies.answers), NO_EXPERIENCE)
    doubtful = [each for each in belief.probabilities.values() if each < 1]
    assert all(0 <= each <= 1 for each in belief.probabilities.values())
    assert sum(doubtful) <= 1 + 1e-9
    assert belief.said <= set(belief.probabilities)

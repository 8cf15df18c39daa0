"""What a studio learns: counts in, rates and minutes out; adding, taking away, and a studio that has learned nothing."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.catalogue.loader import load_catalogue
from intake.catalogue.schema import BenchMinutes
from intake.experience.errors import CountsError, LostMinutesError, PriorRateError, PriorWeightError
from intake.experience.learning import Counted, PriorWeights, experience, learn, learn_all
from intake.experience.minutes import LogMinutes, lost, starting_minutes
from intake.experience.rates import starting_rate
from intake.triage.answers import Experience
from tests.core.catalogues import catalogue, check, fault
from tests.strategies import bench_minutes

minutes_lists = st.lists(st.integers(1, 600), max_size=40)


def counted(minutes):
    """The losses, one by one."""
    return sum((lost(each) for each in minutes), LogMinutes())


@given(minutes_lists)
def test_counting_one_by_one_is_numpys_mean_and_variance(minutes):
    """However many, in any order."""
    found, logs = counted(minutes), np.log(minutes or [1])
    assert found.times == len(minutes)
    if minutes:
        assert found.mean == pytest.approx(logs.mean(), abs=1e-12)
        assert found.squares == pytest.approx(((logs - logs.mean()) ** 2).sum(), abs=1e-10)
        assert counted(reversed(minutes)).squares == pytest.approx(found.squares, abs=1e-10)


@given(minutes_lists, minutes_lists)
def test_what_was_added_can_be_taken_away(kept, gone):
    """A correction leaves nothing of the old behind."""
    left = counted(kept) + counted(gone) - counted(gone)
    assert left.times == len(kept)
    assert left.mean == pytest.approx(counted(kept).mean, abs=1e-9)
    assert left.squares == pytest.approx(counted(kept).squares, abs=1e-7)
    assert left.squares >= 0


def test_large_counts_lose_no_digits():
    """Ten thousand losses of nearly the same length: the spread is still right to six digits (sums of squares would lose it)."""
    minutes = [500 + (number % 2) for number in range(10_000)]
    assert counted(minutes).squares == pytest.approx(10_000 * (math.log(501 / 500) / 2) ** 2, rel=1e-6)


def test_nothing_is_taken_from_nothing():
    """Nor minutes learned that were none."""
    with pytest.raises(LostMinutesError):
        LogMinutes() - lost(5)
    for minutes in (0, -3, math.inf, math.nan):
        with pytest.raises(LostMinutesError):
            lost(minutes)


@pytest.mark.parametrize("weight", [0, -1, math.inf, math.nan])
def test_an_absurd_weight_is_refused(weight):
    """A prior weighs something, and not everything."""
    with pytest.raises(PriorWeightError):
        starting_rate(0.1, weight)
    with pytest.raises(PriorWeightError):
        starting_minutes(BenchMinutes(5, 10), weight)


def test_absurd_rates_and_counts_are_refused():
    """Each with what was wrong."""
    for rate in (-0.1, 1.1, math.nan):
        with pytest.raises(PriorRateError):
            starting_rate(rate, 20)
    for seen, faults in ((3, 4), (-1, -1), (2, -1)):
        with pytest.raises(CountsError, match=str(faults)):
            starting_rate(0.1, 20).after(seen, faults)


@given(st.floats(0, 1), st.floats(1, 100), st.integers(0, 300), st.data())
def test_a_rate_lies_between_what_was_thought_and_what_was_seen(rate, weight, seen, data):
    """And in its own interval, wherever it can move."""
    faults = data.draw(st.integers(0, seen))
    before = starting_rate(rate, weight)
    after = before.after(seen, faults)
    ends = sorted((before.mean, faults / seen if seen else before.mean))
    assert ends[0] - 1e-9 <= after.mean <= ends[1] + 1e-9
    low, high = after.interval(0.999)
    assert low - 1e-9 <= after.mean <= high + 1e-9


@given(bench_minutes(), st.floats(1, 50))
def test_a_prior_predicts_the_catalogues_own_minutes(minutes, weight):
    """Whatever it weighs."""
    found = starting_minutes(minutes, weight).predictive()
    assert (found.median_min, found.p90_min) == pytest.approx((minutes.median_min, minutes.p90_min), rel=1e-7)


@given(bench_minutes(), minutes_lists)
def test_what_is_predicted_is_always_minutes_of_a_forecast(minutes, losses):
    """Median above 0, 90th percentile not below it, and the median between the catalogue's and the losses'."""
    found = starting_minutes(minutes, 4).after(counted(losses)).predictive()
    assert 0 < found.median_min <= found.p90_min < math.inf
    ends = sorted((math.log(minutes.median_min), counted(losses).mean if losses else math.log(minutes.median_min)))
    assert ends[0] - 1e-9 <= math.log(found.median_min) <= ends[1] + 1e-9


def test_much_experience_outweighs_the_catalogue():
    """Four hundred sessions: the rate and the minutes are the studio's own."""
    seen = counted([30, 60] * 200)
    found = learn("post.stuck", fault(rate=0.1, minutes=(20, 50)), Counted(1000, 400, seen), PriorWeights())
    assert found.rate.mean == pytest.approx(0.4, abs=0.01)
    assert found.bench_minutes.median_min == pytest.approx(math.sqrt(30 * 60), rel=0.02)
    # A lognormal with that spread has its 90th percentile at z·σ above the median; σ = ln 2 / 2.
    assert found.bench_minutes.p90_min == pytest.approx(math.sqrt(1800) * math.exp(1.2816 * math.log(2) / 2), rel=0.02)
    assert found.moved_min > 15


def test_a_studio_that_learned_nothing_has_the_catalogues_forecast():
    """No counts, no experience; every fault is as the catalogue says."""
    ours = load_catalogue()
    assert experience(ours, {}) == Experience()
    assert experience(ours, {"post_slides.stuck": Counted()}) == Experience()
    for each in learn_all(ours, {}):
        assert each.moved_min == 0
        assert each.rate.mean == pytest.approx(each.fault.rate)
        assert each.bench_minutes == each.fault.minutes


def test_only_what_was_learned_is_handed_on():
    """Minutes only where they were noted; retired faults and faults without minutes bring none."""
    ours = catalogue(check("post", fault("stuck"), fault("mast", minutes=None)), check("cleats", fault("worn")))
    seen = {
        "post.stuck": Counted(10, 2, counted([15, 25])),
        "post.mast": Counted(10, 5),
        "halo.bent": Counted(3, 1, lost(5)),
    }
    found = experience(ours, seen)
    assert found.rates == {"post.stuck": pytest.approx(4 / 30), "post.mast": pytest.approx(7 / 30)}
    assert set(found.minutes) == {"post.stuck"}

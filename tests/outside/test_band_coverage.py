"""The 90 % band of forecasts against simulated sessions.

Oracle: sessions drawn by numpy from the definition of the shipped catalogue (answers, exposures, faults, lognormal minutes), one by
one and without any convolution; tolerance from the binomial distribution (`scipy.stats.binom`, scipy 1.17).
"""

import math
from functools import cache

import numpy as np
import pytest
from scipy import stats

from intake.catalogue.loader import load_catalogue
from intake.catalogue.schema import Adjustment, BikeKind
from intake.catalogue.shares import share_exposed, telling_answers
from intake.triage.answers import BikeFacts, TriageInput
from intake.triage.engine import triage
from tests.core.catalogues import slot

SESSIONS = 5000
CATALOGUE = load_catalogue()
KIND = BikeKind.ROAD
CHECKS = [each for each in CATALOGUE.checks if not each.kinds or KIND in each.kinds]
(SALT,) = CATALOGUE.exposures
YES = CATALOGUE.check(SALT.check).options[0].share
SHARE = share_exposed(SALT, CATALOGUE.check(SALT.check))
Z90 = stats.norm.ppf(0.9)


def drawn(rng):
    """The bench minutes of one untouched session: draw what the rider would answer, the salt, then each check in the file's order."""
    indoors = _one_of({"yes": YES, "no": 1 - YES}, rng)
    salty = rng.random() < SALT.given[indoors]
    answers, there = {}, {}
    for check in CHECKS:
        if not all(_met(each, answers) for each in check.conditions):
            continue
        key = _one_of(_rates(check.key, salty), rng)
        told = _told(check.key, key)
        answers[check.key] = indoors if check.key == SALT.check else _one_of(told, rng) if told else ""
        if key:
            there[f"{check.key}.{key}"] = check.fault(key)
    moot = {key for each in CATALOGUE.moots if each.fault in there for key in each.spared}
    return sum(_minutes(fault.minutes, rng) for key, fault in there.items() if fault.minutes and key not in moot)


@cache
def _rates(key, salty):
    times = {each.key: _times(each, salty) for each in CATALOGUE.check(key).faults}
    rates = {each.key: each.rate * times[each.key] for each in CATALOGUE.check(key).faults}
    return rates | {"": 1 - sum(rates.values())}


@cache
def _told(key, fault):
    return telling_answers(CATALOGUE.check(key), fault)


def _one_of(chances, rng):
    left = rng.random()
    for key, chance in chances.items():
        left -= chance
        if left < 0:
            return key
    return key


def _times(fault, salty):
    factor = fault.exposed.get(SALT.key, 1.0)
    return (factor if salty else 1.0) / (1 - SHARE + SHARE * factor)


def _met(condition, answers):
    source, _, name = condition.subject.partition(".")
    return source == "bike" or (answers.get(name, "") in condition.among) != condition.unless


def _minutes(minutes, rng):
    sigma = math.log(minutes.p90_min / minutes.median_min) / Z90
    return rng.lognormal(math.log(minutes.median_min), sigma)


@pytest.fixture(scope="module")
def sessions():
    """Bench minutes of all sessions, and the one forecast that was made for each of them."""
    rng = np.random.default_rng(20261125)
    lost_min = np.array([drawn(rng) for _ in range(SESSIONS)])
    where = slot(planned_min=400, slack_min=60, essential=Adjustment)
    return lost_min, triage(TriageInput(CATALOGUE, BikeFacts(KIND), {}, (), where)).forecast


def test_the_ninety_percent_band_holds_ninety_percent(sessions):
    """From the 5th to the 95th percentile; minutes are whole, so the band's own probability by the forecast is what must be met."""
    lost_min, forecast = sessions
    low, high = forecast.quantile_min(0.05), forecast.quantile_min(0.95)
    promised = forecast.pmf[low : high + 1].sum()
    held = ((np.round(lost_min) >= low) & (np.round(lost_min) <= high)).sum()
    least, most = stats.binom.interval(0.999, SESSIONS, promised)
    assert 0.90 <= promised < 0.96
    assert least <= held <= most


@pytest.mark.parametrize("share", [0.25, 0.5, 0.75, 0.9])
def test_every_other_quantile_holds_too(sessions, share):
    """Half a minute of the grid's own rounding aside, as many sessions lie below it as were promised."""
    lost_min, forecast = sessions
    limit = forecast.quantile_min(share)
    least, most = stats.binom.interval(0.999, SESSIONS, forecast.pmf[: limit + 1].sum())
    assert least - 0.01 * SESSIONS <= (lost_min <= limit + 0.5).sum() <= most + 0.01 * SESSIONS


def test_the_mean_is_the_sessions_mean(sessions):
    """Within four standard errors."""
    lost_min, forecast = sessions
    assert forecast.expected_min == pytest.approx(lost_min.mean(), abs=4 * lost_min.std() / math.sqrt(SESSIONS))

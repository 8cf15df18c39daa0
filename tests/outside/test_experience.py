"""Learning and scoring against scipy, against numerical integration, and against published worked numbers.

Oracles: scipy 1.17 (`scipy.stats`, `scipy.special`, `scipy.integrate`). The product's updates are conjugate Beta–binomial and
normal-inverse-gamma; it has no Gamma–Poisson rate, so the asthma example of Gelman et al. is not for it. What is checked in its place
is that the very machinery it uses, prior times likelihood, integrates to the posterior that it states.
"""

import math

import numpy as np
import pytest
from scipy import integrate, special, stats

from intake.catalogue.schema import BenchMinutes
from intake.experience.calibration import coverage, judge_forecast, pit_histogram
from intake.experience.minutes import LogMinutes, lost, starting_minutes
from intake.experience.rates import starting_rate
from intake.experience.scores import brier, crps, crps_lognormal
from intake.experience.special import beta_cdf, beta_quantile, share_interval, t_quantile
from intake.triage.forecast import forecast

MINUTES = BenchMinutes(median_min=25, p90_min=70)
LOGGED = [12, 20, 20, 35, 90]


@pytest.mark.parametrize("a", [0.02, 0.5, 1, 3.7, 40, 5000])
@pytest.mark.parametrize("b", [0.5, 1, 19.98, 800])
def test_the_incomplete_beta_function(a, b):
    """Values and quantiles by scipy.special."""
    for x in (1e-9, 0.003, 0.2, 0.5, 0.83, 0.999):
        assert beta_cdf(x, a, b) == pytest.approx(special.betainc(a, b, x), rel=1e-9, abs=1e-13)
    for share in (0.05, 0.5, 0.95):
        assert beta_quantile(share, a, b) == pytest.approx(special.betaincinv(a, b, share), rel=1e-8, abs=1e-13)


@pytest.mark.parametrize("degrees", [1, 2.5, 4, 30, 10_004])
@pytest.mark.parametrize("share", [0.05, 0.5, 0.9, 0.95, 0.999])
def test_students_quantiles(degrees, share):
    """By scipy.stats.t."""
    assert t_quantile(share, degrees) == pytest.approx(stats.t.ppf(share, degrees), rel=1e-8, abs=1e-9)


@pytest.mark.parametrize(("hits", "trials"), [(0, 12), (11, 12), (12, 12), (447, 500), (0, 1)])
def test_the_exact_interval_of_a_share(hits, trials):
    """Clopper and Pearson's, by scipy.stats.binomtest."""
    theirs = stats.binomtest(hits, trials).proportion_ci(0.95, method="exact")
    assert share_interval(hits, trials) == pytest.approx((theirs.low, theirs.high), abs=1e-9)


@pytest.mark.parametrize(
    ("rate", "weight", "seen", "faults"), [(0.04, 20, 15, 3), (0.3, 8, 200, 20), (0.002, 20, 40, 0)]
)
def test_a_rates_posterior_by_integration(rate, weight, seen, faults):
    """Prior density times binomial likelihood, normalised by quadrature; interval by scipy.stats.beta."""
    ours = starting_rate(rate, weight).after(seen, faults)
    a, b = weight * rate, weight * (1 - rate)

    def moment(power):
        """Substituted x = u^(1/a), so that the prior's pole at 0 is gone."""

        def density(u):
            x = u ** (1 / a)
            return x ** (faults + power) * (1 - x) ** (seen - faults + b - 1) / a

        return integrate.quad(density, 0, 1, limit=500, epsabs=0, points=[0.1**a, 0.3**a])[0]

    assert ours.mean == pytest.approx(moment(1) / moment(0), rel=1e-6)
    posterior = stats.beta(a + faults, b + seen - faults)
    assert ours.interval() == pytest.approx(posterior.ppf([0.05, 0.95]), rel=1e-7, abs=1e-12)


def test_a_rates_mean_is_the_beta_binomials_next_session():
    """By scipy.stats.betabinom for one more session."""
    ours = starting_rate(0.1, 20).after(12, 5)
    assert ours.mean == pytest.approx(stats.betabinom.pmf(1, 1, ours.alpha, ours.beta), rel=1e-12)


def belief_after(minutes):
    """The belief about minutes after these losses, one by one."""
    seen = sum((lost(each) for each in minutes), LogMinutes())
    return starting_minutes(MINUTES, weight_faults=4).after(seen)


def test_the_minutes_posterior_by_integration():
    """Normal-inverse-gamma prior times normal likelihood over a grid of both unknowns, against the predicted Student-t."""
    before, after = starting_minutes(MINUTES, weight_faults=4), belief_after(LOGGED)
    logs = np.log(LOGGED)
    mu, variance = np.meshgrid(np.linspace(0, 6.5, 401), np.geomspace(0.02, 40, 401), indexing="ij")
    weight = stats.invgamma.pdf(variance, before.shape, scale=before.scale) * variance  # dσ² = σ² d ln σ²
    weight *= stats.norm.pdf(mu, before.centre, np.sqrt(variance / before.weight))
    for each in logs:
        weight *= stats.norm.pdf(each, mu, np.sqrt(variance))
    weight /= weight.sum()
    ours = stats.t(after.degrees, loc=after.centre, scale=after.spread)
    for minute in (5, 20, 40, 120):
        by_grid = float((weight * stats.norm.cdf(math.log(minute), mu, np.sqrt(variance))).sum())
        assert ours.cdf(math.log(minute)) == pytest.approx(by_grid, abs=2e-4)
    assert after.centre == pytest.approx(float((weight * mu).sum()), abs=1e-4)


def test_the_minutes_quantiles_by_scipys_student():
    """Median, 90th percentile and the median's interval; before any loss, the catalogue's own."""
    after = belief_after(LOGGED)
    theirs = stats.t(after.degrees, loc=after.centre, scale=after.spread)
    assert after.predictive().median_min == pytest.approx(math.exp(theirs.ppf(0.5)), rel=1e-9)
    assert after.predictive().p90_min == pytest.approx(math.exp(theirs.ppf(0.9)), rel=1e-9)
    middle = stats.t(after.degrees, loc=after.centre, scale=math.sqrt(after.scale / after.shape / after.weight))
    assert after.median_interval_min() == pytest.approx(np.exp(middle.ppf([0.05, 0.95])), rel=1e-8)
    assert belief_after([]).predictive().p90_min == pytest.approx(MINUTES.p90_min, rel=1e-9)


def test_known_spread_is_the_limit_of_many_faults():
    """With σ known, precisions add: mean = (m/s² + Σ/σ²)/(1/s² + n/σ²) (standard, from memory). κ plays σ²/s²."""
    after, logs = belief_after(LOGGED), np.log(LOGGED)
    sigma2 = 0.3
    s2 = sigma2 / 4
    known = (math.log(25) / s2 + logs.sum() / sigma2) / (1 / s2 + len(logs) / sigma2)
    assert after.centre == pytest.approx(known, rel=1e-12)


# Constants of the closed forms (Gneiting & Raftery 2007 for the normal), each confirmed by quadrature.
Z90 = stats.norm.ppf(0.9)


def lognormal(mu, sigma):
    """Bench minutes of this lognormal."""
    return BenchMinutes(math.exp(mu), math.exp(mu + Z90 * sigma))


@pytest.mark.parametrize(("mu", "sigma", "at", "score"), [(0, 0.5, 1.5, 0.2841185255), (3, 0.4, 30, 5.8112751886)])
def test_the_score_of_a_lognormal(mu, sigma, at, score):
    """The closed form's constants, and quadrature of (F − 1)² itself."""
    ours = crps_lognormal(lognormal(mu, sigma), at)
    assert ours == pytest.approx(score, abs=1e-9)
    cdf = stats.lognorm(s=sigma, scale=math.exp(mu)).cdf
    below = integrate.quad(lambda x: cdf(x) ** 2, 0, at)[0]
    above = integrate.quad(lambda x: (1 - cdf(x)) ** 2, at, np.inf)[0]
    assert ours == pytest.approx(below + above, abs=1e-8)


CONTINUOUS = [
    (stats.norm(0, 1), 0, 0.2336949773),
    (stats.norm(0, 1), 1, 0.6024413576),
    (stats.norm(0, 1), 2, 1.4527918217),
    (stats.norm(3, 2), 5, 1.2048827152),
    (stats.expon(), 1, 0.2357588823),
    (stats.lognorm(s=0.5, scale=1), 1.5, 0.2841185255),
    (stats.lognorm(s=0.4, scale=math.exp(3)), 30, 5.8112751886),
]


@pytest.mark.parametrize(("law", "at", "score"), CONTINUOUS)
def test_the_score_of_a_grid_nears_that_of_what_it_stands_for(law, at, score):
    """The grid's score of a finely cut distribution is the closed form's constant, cell width by cell width."""
    start, cell = float(law.ppf(1e-9)), float(law.std()) / 2000
    cells = math.ceil((float(law.ppf(1 - 1e-9)) - start) / cell)
    reached = law.cdf(start + cell * (np.arange(cells) + 0.5))
    pmf = np.diff(np.concatenate(([0.0], reached[:-1], [1.0])))
    assert cell * crps(pmf, round((at - start) / cell)) == pytest.approx(score, rel=1e-3)


def test_the_score_of_a_grid_is_the_energy_form():
    """E|T − t| − ½·E|T − T'| (Gneiting & Raftery 2007, equation 21, number from memory), by double sums."""
    draw = np.random.default_rng(4)
    pmf = draw.dirichlet(np.ones(40))
    minutes = np.arange(40)
    for at in (0, 7, 39, 200):
        spread = pmf @ np.abs(minutes[:, None] - minutes) @ pmf
        assert crps(pmf, at) == pytest.approx(pmf @ np.abs(minutes - min(at, 39)) - spread / 2, abs=1e-12)


def test_brier_and_its_parts():
    """Ten chances worked by hand: 0.165 = 0.005 − 0.090 + 0.250 (Murphy 1973's partition)."""
    chances = [0.1] * 5 + [0.8] * 5
    parts = brier(chances, [bool(one) for one in (0, 0, 0, 1, 0, 1, 1, 0, 1, 1)])
    assert parts.score == pytest.approx(0.165)
    assert (parts.reliability, parts.resolution, parts.uncertainty) == pytest.approx((0.005, 0.090, 0.250))


# A studio whose bikes behave as the forecast says, another whose minutes spread half as much again in the log and more often.
FAULTS = [(0.3, 25, 70), (0.15, 40, 100), (0.5, 10, 25), (0.08, 15, 40), (0.2, 5, 15)]
SESSIONS = 5000


def simulated(truth, seed):
    """Sessions drawn from ``truth`` and held against the forecast of `FAULTS`."""
    pmf = forecast([[(p, BenchMinutes(m, q))] for p, m, q in FAULTS], planned_min=120, slack_min=15).pmf
    draw = np.random.default_rng(seed)
    minutes = np.zeros(SESSIONS)
    for chance, median, p90 in truth:
        there = draw.random(SESSIONS) < chance
        minutes += there * np.rint(
            stats.lognorm(s=math.log(p90 / median) / Z90, scale=median).rvs(SESSIONS, random_state=draw)
        )
    outcomes = {one: judge_forecast(pmf, pmf, one, 15) for one in set(minutes.astype(int))}
    return [outcomes[one] for one in minutes.astype(int)]


@pytest.fixture(scope="module")
def calibrated():
    """Sessions of a studio whose forecasts are right."""
    return simulated(FAULTS, seed=20)


def test_coverage_of_simulated_sessions(calibrated):
    """5 000 sessions drawn from the model: the share in the 90 % band is what the forecast gave to it, within the binomial's error."""
    found = coverage([one.within_band for one in calibrated], [one.band_chance for one in calibrated])
    assert found.promised >= 0.9
    assert found.fits
    assert stats.binomtest(found.hits, SESSIONS, found.promised).pvalue > 0.01


def test_pit_of_a_calibrated_studio_is_level(calibrated):
    """Each tenth holds a tenth, within four standard errors (Czado, Gneiting & Held 2009: level when the forecast is right)."""
    shares = pit_histogram([one.pit_low for one in calibrated], [one.pit_high for one in calibrated])
    assert shares.sum() == pytest.approx(1)
    assert np.abs(shares - 0.1).max() < 4 * math.sqrt(0.09 / SESSIONS)


def test_pit_of_an_overconfident_studio_is_a_u():
    """Minutes that spread more than was forecast fall into both ends and miss the band."""
    wide = [(p, m, m * (q / m) ** 2.5) for p, m, q in FAULTS]
    # Only sessions with a fault each: where nothing is lost no forecast is overconfident.
    pmf = forecast([[(1.0, BenchMinutes(m, q))] for _p, m, q in FAULTS], planned_min=120, slack_min=15).pmf
    draw = np.random.default_rng(7)
    minutes = sum(stats.lognorm(s=math.log(q / m) / Z90, scale=m).rvs(1000, random_state=draw) for _p, m, q in wide)
    outcomes = [judge_forecast(pmf, pmf, round(one), 15) for one in minutes]
    shares = pit_histogram([one.pit_low for one in outcomes], [one.pit_high for one in outcomes])
    assert shares[0] > 0.13
    assert shares[-1] > 0.2
    assert shares[3:7].max() < 0.1
    found = coverage([one.within_band for one in outcomes], [one.band_chance for one in outcomes])
    assert not found.fits
    assert found.high < 0.9


def test_pit_histogram_for_counts_by_its_definition():
    """F̄(j/J) − F̄((j−1)/J) with the piecewise-linear F of Czado et al., by a plain loop."""
    draw = np.random.default_rng(11)
    ends = np.sort(draw.random((60, 2)), axis=1)

    def mean_f(u):
        return np.mean([0 if u <= low else 1 if u >= high else (u - low) / (high - low) for low, high in ends])

    expected = [mean_f((j + 1) / 10) - mean_f(j / 10) for j in range(10)]
    assert pit_histogram(ends[:, 0], ends[:, 1]) == pytest.approx(expected, abs=1e-12)

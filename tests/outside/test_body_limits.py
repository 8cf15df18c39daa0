"""Body-measure limits and estimates against the 2012 US Army Anthropometric Survey (ANSUR II), NATICK/TR-15/007."""

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from sessions.geometry.body import BODY, body_warnings, can_be_body, check_body
from sessions.geometry.errors import OutOfLimitsError
from sessions.geometry.segments import CONSTANT, RESIDUAL, SLOPE, segments

FIXTURES = Path(__file__).parents[2] / "fixtures"
PERCENTILES = ("p0.1", "p1", "p5", "p50", "p95", "p99", "p99.9")


def table(name):
    """Rows of a reference table, without its source lines."""
    with (FIXTURES / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


SURVEY = table("ansur_percentiles.csv")
RATIOS = table("ansur_ratio_percentiles.csv")


def test_every_body_measure_is_in_the_survey_for_both_sexes():
    assert {(row["measure"], row["group"]) for row in SURVEY} == {
        (key, sex) for key in BODY for sex in ("male", "female")
    }


@pytest.mark.parametrize("row", SURVEY, ids=lambda row: f"{row['measure']}-{row['group']}")
def test_limits_accept_998_of_a_thousand_of_both_sexes(row):
    for percentile in PERCENTILES:
        assert check_body(row["measure"], float(row[percentile])) == float(row[percentile])


@pytest.mark.parametrize("row", SURVEY, ids=lambda row: f"{row['measure']}-{row['group']}")
def test_a_slipped_digit_is_refused_and_the_right_figure_offered(row):
    """Every percentile a digit short or a digit long, as 83 or 8300 for 830."""
    for percentile in PERCENTILES:
        value = float(row[percentile])
        for slipped in (value / 10.0, value * 10.0, value * 100.0, value / 100.0):
            assert not can_be_body(row["measure"], slipped)
        with pytest.raises(OutOfLimitsError, match="centimetres"):
            check_body(row["measure"], value / 10.0)
        with pytest.raises(OutOfLimitsError, match="a digit too many"):
            check_body(row["measure"], value * 10.0)


@pytest.mark.parametrize("row", RATIOS, ids=lambda row: f"{row['ratio']}-{row['group']}")
def test_ratios_of_998_of_a_thousand_raise_no_warning(row):
    parts, whole = row["ratio"].split("/")
    for percentile in ("p0.1", "p50", "p99.9"):
        base = (BODY[whole].limits.low + BODY[whole].limits.high) / 2
        share = float(row[percentile]) * base / len(parts.split("+"))
        measures = {whole: base, **dict.fromkeys(parts.split("+"), share)}
        assert [each.keys for each in body_warnings(measures) if each.keys == (*parts.split("+"), whole)] == []


@pytest.mark.parametrize("ratio", [0.39, 0.58])
def test_an_inseam_out_of_all_proportion_is_a_warning(ratio):
    (warning,) = body_warnings({"stature": 1750.0, "inseam": 1750.0 * ratio})
    assert warning.keys == ("inseam", "stature")


@pytest.mark.parametrize(("sex", "inseam"), [("male", 845.9), ("female", 782.3)])
def test_segments_estimated_from_the_mean_inseam_are_near_the_mean_segments(sex, inseam):
    """Both sexes pooled, so that each sex's own mean lies within one residual SD."""
    mean = {row["measure"]: float(row["mean"]) for row in SURVEY if row["group"] == sex}
    leg = segments(inseam)
    assert leg.thigh_mm == pytest.approx(mean["thigh"], abs=18.5)
    assert leg.shank_mm == pytest.approx(mean["shank"], abs=12.7)
    assert leg.ankle_height_mm == pytest.approx(mean["ankle_height"], abs=5.9)
    assert leg.foot_length_mm == pytest.approx(mean["foot_length"], abs=10.5)
    assert leg.hip_above_inseam_mm == pytest.approx(mean["trochanter_height"] - mean["inseam"], abs=18.4)


def test_the_spread_of_an_estimate_is_the_survey_s_residual():
    """Pooled regressions on crotch height: thigh 35.0 + 0.4418 C [18.5]; shank 71.1 + 0.4152 C [12.7]."""
    assert pytest.approx([35.0, 71.1], abs=0.05) == CONSTANT[:2]
    assert SLOPE[:2].tolist() == [0.4418, 0.4152]
    assert np.sqrt(np.diag(RESIDUAL))[:2] == pytest.approx([18.5, 12.7], abs=0.06)
    leg = segments(830.0, inseam_sigma_mm=1e-9)
    assert (leg.sigma_of("thigh"), leg.sigma_of("shank")) == pytest.approx((18.5, 12.7), abs=0.06)


def test_thigh_and_shank_errors_partly_cancel():
    """Residual correlation thigh/shank −0.25 in men and −0.43 in women; pooled in between."""
    correlation = RESIDUAL[0, 1] / math.sqrt(RESIDUAL[0, 0] * RESIDUAL[1, 1])
    assert -0.43 < correlation < -0.25
    leg = segments(830.0)
    both = float(np.array([0, 1, 1, 0]) @ leg.covariance_mm2 @ np.array([0, 1, 1, 0]))
    assert math.sqrt(both) < math.hypot(leg.sigma_of("thigh"), leg.sigma_of("shank"))


def test_a_measured_part_is_kept_and_sharpens_the_others():
    estimated, measured = segments(830.0), segments(830.0, thigh_mm=430.0)
    assert measured.thigh_mm == 430.0
    assert measured.sigma_of("thigh") == pytest.approx(7.0)
    assert measured.shank_mm < estimated.shank_mm
    assert measured.sigma_of("shank") < estimated.sigma_of("shank")
    assert measured.estimated == {"shank", "ankle_height", "foot_length"}


def test_everything_measured_is_taken_as_measured():
    leg = segments(830.0, thigh_mm=400.0, shank_mm=415.0, ankle_height_mm=70.0, foot_length_mm=265.0)
    assert (leg.thigh_mm, leg.shank_mm, leg.ankle_height_mm, leg.foot_length_mm) == (400.0, 415.0, 70.0, 265.0)
    assert leg.covariance_mm2 == pytest.approx(np.diag([25.0, 49.0, 49.0, 49.0]))
    assert leg.estimated == frozenset()


@pytest.mark.parametrize(
    ("inseam", "parts", "key"),
    [(83.0, {}, "inseam"), (830.0, {"thigh_mm": 40.0}, "thigh"), (830.0, {"foot_length_mm": 2650.0}, "foot_length")],
)
def test_an_implausible_part_is_refused_at_its_field(inseam, parts, key):
    with pytest.raises(OutOfLimitsError) as caught:
        segments(inseam, **parts)
    assert caught.value.key == key


def test_the_covariance_is_always_one():
    for parts in ({}, {"thigh_mm": 400.0}, {"shank_mm": 400.0, "ankle_height_mm": 70.0}):
        values = np.linalg.eigvalsh(segments(830.0, **parts).covariance_mm2)
        assert values.min() > 0.0

"""Published saddle-height rules, and what they imply for published legs."""

import pytest
from hypothesis import given

from sessions.geometry.errors import OutOfLimitsError
from sessions.geometry.segments import segments
from sessions.geometry.stance import Stance, height_at_flexion_mm, implied_flexion, stretch
from sessions.geometry.starting_height import (
    NOTE,
    agreement_inseam_mm,
    gatti_height_mm,
    pedal_axle_height_mm,
    share_height_mm,
    starting_heights,
)
from tests.strategies_geometry import spread


def by_key(inseam, **stance):
    """The rules for a rider of this inseam."""
    return {each.key: each for each in starting_heights(segments(inseam), Stance(**stance))}


@pytest.mark.parametrize(("crank", "inseam"), [(170.0, 821), (172.5, 833), (175.0, 845)])
def test_109_percent_and_0883_agree_at_one_inseam_only(crank, inseam):
    """From the two factors alone: crank / 0.207."""
    assert round(agreement_inseam_mm(crank)) == inseam
    rules = by_key(agreement_inseam_mm(crank), crank_mm=crank)
    assert rules["pedal_109"].value_mm == pytest.approx(rules["bracket_883"].value_mm, abs=1e-9)


@pytest.mark.parametrize(("inseam", "higher"), [(780.0, 11), (900.0, -14)])
def test_elsewhere_they_differ_by_whole_centimetres(inseam, higher):
    """0.883 against 109 % with a 172.5 mm crank: 11 mm higher at 780 mm, 14 mm lower at 900 mm."""
    rules = by_key(inseam)
    assert round(rules["bracket_883"].value_mm - rules["pedal_109"].value_mm) == higher


def test_the_worked_example_of_830_mm():
    """904.7 mm pedal axle to saddle; 732.9 mm bottom bracket to saddle, 905.4 mm with a 172.5 mm crank."""
    rules = by_key(830.0)
    assert pedal_axle_height_mm(rules["pedal_109"].value_mm, 172.5) == pytest.approx(904.7, abs=0.05)
    assert rules["bracket_883"].value_mm == pytest.approx(732.9, abs=0.05)
    assert pedal_axle_height_mm(rules["bracket_883"].value_mm, 172.5) == pytest.approx(905.4, abs=0.05)
    assert share_height_mm(1.09, 830.0, 172.5, from_pedal=True) == rules["pedal_109"].value_mm


def test_gatti_s_equation_is_a_band_of_centimetres():
    """Gatti et al. 2021, doi 10.1080/17461391.2021.1902570: 83 cm, 30°, 73° give 90.6 cm; rounding alone leaves ±3 cm."""
    assert gatti_height_mm(830.0, 30.0, 73.0) == pytest.approx(906.5, abs=0.05)
    band = by_key(830.0)["gatti_band"]
    assert band.band_only
    assert band.value_mm is None
    assert band.low_mm < 906.5 - 172.5 - 30.0
    assert band.high_mm > 906.5 - 172.5 + 30.0


def test_every_rule_has_a_source_and_none_a_crown():
    rules = starting_heights(segments(830.0), Stance())
    assert [each.key for each in rules] == ["pedal_109", "bracket_883", "pedal_106_109", "window_25_35", "gatti_band"]
    assert all(any(year in each.source for year in ("1967", "1987", "1994", "2011", "2021")) for each in rules)
    assert all(each.low_mm < each.high_mm for each in rules)
    assert "none of them is right" in NOTE


@pytest.mark.parametrize(("inseam", "sex"), [(845.9, "men"), (782.3, "women"), (825.1, "pooled")])
def test_at_109_percent_the_mean_leg_bends_within_the_clinical_window(inseam, sex):
    """Mean crotch heights of the 2012 US Army survey; 25–35° after Holmes et al. 1994, as quoted in Peveler et al. 2005.

    The foot's angle and the hip's seat are assumptions (common practice, no source), so that the range is wide and must say so.
    """
    flexion = by_key(inseam)["pedal_109"].flexion
    assert 25.0 <= flexion.value_deg <= 35.0, sex
    assert flexion.low_deg < 20.0
    assert flexion.high_deg > 35.0
    assert flexion.label == "static, held ankle"


def test_a_long_inseam_gets_more_bend_from_0883_and_a_short_one_less():
    """Because the rule forgets the crank: its height falls behind 109 % above the inseam at which both agree."""
    short, long = by_key(720.0), by_key(930.0)
    assert short["bracket_883"].flexion.value_deg < short["pedal_109"].flexion.value_deg
    assert long["bracket_883"].flexion.value_deg > long["pedal_109"].flexion.value_deg


def test_a_rule_that_does_not_reach_says_so():
    """0.883 for a very short inseam on long cranks leaves the estimated leg too short."""
    flexion = by_key(600.0, crank_mm=175.0)["bracket_883"].flexion
    assert flexion.value_deg is None


@given(spread(650, 980), spread(0, 60))
def test_the_height_of_a_flexion_implies_that_flexion(inseam, flexion):
    leg, stance = segments(inseam), Stance()
    height = height_at_flexion_mm(leg, stance, flexion)
    assert implied_flexion(leg, stance, height).value_deg == pytest.approx(flexion, abs=1e-3)


@given(spread(650, 980), spread(0.8, 0.93))
def test_derivatives_of_the_stretch_agree_with_small_steps(inseam, share):
    leg, stance, height = segments(inseam), Stance(), share * inseam
    at = stretch(leg, stance, height)
    parts = ["inseam_mm", "thigh_mm", "shank_mm", "ankle_height_mm"]
    for part, slope in zip(parts, at.by_leg, strict=True):
        ahead, behind = (stretch(_nudged(leg, part, step), stance, height).cosine for step in (1e-3, -1e-3))
        assert (ahead - behind) / 2e-3 == pytest.approx(slope, abs=1e-8)
    ahead, behind = (stretch(leg, stance, height + step).cosine for step in (1e-3, -1e-3))
    assert (ahead - behind) / 2e-3 == pytest.approx(at.by_height, abs=1e-8)
    for part, slope, unit in (("sag_mm", at.by_stance[0], 1e-3), ("foot_deg", at.by_stance[2], 1e-3)):
        ahead, behind = (stretch(leg, _nudged(stance, part, step), height).cosine for step in (unit, -unit))
        assert (ahead - behind) / (2 * unit) == pytest.approx(slope, abs=1e-7)
    per_mm = 1e-3 / leg.foot_length_mm
    ahead, behind = (
        stretch(leg, _nudged(stance, "ankle_back_share", step), height).cosine for step in (per_mm, -per_mm)
    )
    assert (ahead - behind) / 2e-3 == pytest.approx(at.by_stance[1], abs=1e-8)


def _nudged(thing, part, step):
    values = {name: getattr(thing, name) for name in type(thing).__dataclass_fields__}
    return type(thing)(**{**values, part: values[part] + step})


@pytest.mark.parametrize(
    ("stance", "key"),
    [({"crank_mm": 17.5}, "crank_length"), ({"seat_angle_deg": 7.0}, "seat_angle"), ({"foot_deg": 90.0}, "foot_angle")],
)
def test_an_absurd_stance_is_refused_at_its_field(stance, key):
    with pytest.raises(OutOfLimitsError) as caught:
        Stance(**stance)
    assert caught.value.key == key

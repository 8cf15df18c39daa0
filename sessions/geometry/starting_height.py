"""Published rules for a first saddle height, side by side; none of them is right by itself.

Every height is given from the bottom bracket's centre to the top of the saddle, so that rules compare although some of
them count from the pedal axle.
"""

from __future__ import annotations

from dataclasses import dataclass

from sessions.geometry.errors import ImpossibleTriangleError
from sessions.geometry.segments import Segments
from sessions.geometry.stance import COVER, Flexion, Stance, height_at_flexion_mm, implied_flexion, stretch

NOTE = "These are estimates to start from. The rules disagree, and none of them is right by itself."


@dataclass(frozen=True, slots=True)
class RuleHeight:
    """One rule for one rider.

    Parameters
    ----------
    key, label : str
    value_mm : float or None
        What the rule says, bottom bracket to saddle top [mm]; None where it gives a range only.
    low_mm, high_mm : float
        Range of the rule and of measuring the rider, 95 % [mm].
    rule : str
        The rule in words, and from where to where it counts.
    source : str
    flexion : Flexion
        What it implies for this rider's knee: static, ankle held.
    band_only : bool
        True where the rule is too coarsely printed for more than a sanity band.
    """

    key: str
    label: str
    value_mm: float | None
    low_mm: float
    high_mm: float
    rule: str
    source: str
    flexion: Flexion
    band_only: bool = False


@dataclass(frozen=True, slots=True)
class _Share:
    """Heights as shares of the inseam, counted from the pedal axle or from the bottom bracket."""

    key: str
    label: str
    low: float
    high: float
    from_pedal: bool
    rule: str
    source: str


_SHARES = (
    _Share(
        "pedal_109",
        "109 % of the inseam",
        1.09,
        1.09,
        True,
        "Saddle top to pedal axle, crank in line with the seat tube, is 1.09 times the inseam.",
        "Hamley & Thomas 1967, as applied in Peveler et al. 2005, JEPonline 8(1):51–55",
    ),
    _Share(
        "bracket_883",
        "0.883 of the inseam",
        0.883,
        0.883,
        False,
        "Saddle top to bottom bracket is 0.883 times the inseam.",
        "LeMond & Gordis 1987, as compared in Peveler et al. 2005 and Encarnación-Martínez et al. 2021, JSCR 35(2):519–526",
    ),
    _Share(
        "pedal_106_109",
        "106 to 109 % of the inseam",
        1.06,
        1.09,
        True,
        "Saddle top to pedal axle lies between 1.06 and 1.09 times the inseam.",
        "Range examined by Ferrer-Roca et al. 2011, ISBS conference paper 4814: 56.5 % of 23 elite riders sat outside it",
    ),
)

WINDOW_DEG = (25.0, 35.0)
GATTI_FLEXION_DEG = 30.0
GATTI_RMSE_MM = 11.5
# The last coefficient is printed as 0.003, so that half of its last digit times inseam [cm] times seat angle is unknown.
GATTI_ROUNDING = 0.0005


def pedal_axle_height_mm(height_mm: float, crank_mm: float) -> float:
    """Return saddle top to pedal axle, crank in line with the seat tube, of a height from the bottom bracket [mm]."""
    return height_mm + crank_mm


def share_height_mm(share: float, inseam_mm: float, crank_mm: float, *, from_pedal: bool) -> float:
    """Return the height, bottom bracket to saddle top, of a share of the inseam [mm].

    Examples
    --------
    >>> round(share_height_mm(0.883, 830.0, 172.5, from_pedal=False), 1)
    732.9
    """
    return share * inseam_mm - (crank_mm if from_pedal else 0.0)


def agreement_inseam_mm(crank_mm: float) -> float:
    """Return the inseam at which 109 % to the pedal and 0.883 to the bottom bracket are the same height [mm].

    Examples
    --------
    >>> round(agreement_inseam_mm(172.5))
    833
    """
    return crank_mm / (1.09 - 0.883)


def gatti_height_mm(inseam_mm: float, flexion_deg: float, seat_angle_deg: float) -> float:
    """Return saddle top to pedal axle after Gatti et al., from the least knee flexion while pedalling [mm].

    Notes
    -----
    SH(cm) = 7.41 + 0.82·I − 0.1·κ + 0.003·I·STA. The abstract does not say from where it counts; its size is that of pedal axle
    to saddle.

    References
    ----------
    Gatti et al. 2021, Eur J Sport Sci, doi 10.1080/17461391.2021.1902570.
    """
    inseam_cm = inseam_mm / 10.0
    return 10.0 * (7.41 + 0.82 * inseam_cm - 0.1 * flexion_deg + 0.003 * inseam_cm * seat_angle_deg)


def starting_heights(leg: Segments, stance: Stance) -> tuple[RuleHeight, ...]:
    """Return every published rule for one rider, side by side.

    Parameters
    ----------
    leg : Segments
        The rider's inseam and leg, measured or estimated.
    stance : Stance
        Crank, seat angle and what is assumed of the rest.

    Returns
    -------
    tuple of RuleHeight
        None of them is marked as right; show them with `NOTE`.

    Examples
    --------
    >>> from sessions.geometry.segments import segments
    >>> [(r.key, round(r.value_mm)) for r in starting_heights(segments(830.0), Stance()) if r.value_mm]
    [('pedal_109', 732), ('bracket_883', 733)]
    """
    window = _window(leg, stance)
    return (*(_share(each, leg, stance) for each in _SHARES), *([window] if window else []), _gatti(leg, stance))


def _share(rule: _Share, leg: Segments, stance: Stance) -> RuleHeight:
    low, high = (
        share_height_mm(share, leg.inseam_mm, stance.crank_mm, from_pedal=rule.from_pedal)
        for share in (rule.low, rule.high)
    )
    sigma = leg.sigma_of("inseam")
    straighter = implied_flexion(leg, stance, high, rule.high)
    flexion = straighter if low == high else _joined(straighter, implied_flexion(leg, stance, low, rule.low))
    return RuleHeight(
        rule.key,
        rule.label,
        high if low == high else None,
        low - COVER * rule.low * sigma,
        high + COVER * rule.high * sigma,
        rule.rule,
        rule.source,
        flexion,
    )


def _joined(straighter: Flexion, bent: Flexion) -> Flexion:
    return Flexion(None, straighter.low_deg, bent.high_deg, straighter.reaches or bent.reaches)


def _window(leg: Segments, stance: Stance) -> RuleHeight | None:
    try:
        heights = [height_at_flexion_mm(leg, stance, flexion) for flexion in WINDOW_DEG]
    except ImpossibleTriangleError:
        return None
    spread = [COVER * _height_sigma(leg, stance, height) for height in heights]
    return RuleHeight(
        "window_25_35",
        "Static knee flexion of 25 to 35°",
        None,
        heights[1] - spread[1],
        heights[0] + spread[0],
        "The knee is bent by 25 to 35° at the bottom of the stroke, measured standing still.",
        "Holmes, Pruitt & Whalen 1994, as quoted in Peveler et al. 2005, JEPonline 8(1):51–55",
        Flexion(None, *WINDOW_DEG, reaches=True),
    )


def _height_sigma(leg: Segments, stance: Stance, height_mm: float) -> float:
    at = stretch(leg, stance, height_mm)
    return at.sigma(leg, stance) / abs(at.by_height)


def _gatti(leg: Segments, stance: Stance) -> RuleHeight:
    middle = gatti_height_mm(leg.inseam_mm, GATTI_FLEXION_DEG, stance.seat_angle_deg) - stance.crank_mm
    half = COVER * GATTI_RMSE_MM + GATTI_ROUNDING * leg.inseam_mm * stance.seat_angle_deg
    low, high = middle - half, middle + half
    return RuleHeight(
        "gatti_band",
        "Equation from inseam, knee flexion and seat angle",
        None,
        low,
        high,
        "Printed with coefficients so rounded that only a band follows; taken at a least flexion of 30° while pedalling.",
        "Gatti et al. 2021, Eur J Sport Sci, doi 10.1080/17461391.2021.1902570",
        _joined(implied_flexion(leg, stance, high), implied_flexion(leg, stance, low)),
        band_only=True,
    )

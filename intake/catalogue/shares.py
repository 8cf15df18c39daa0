"""Shares of riders: which answer tells of which fault, and how often a fault is met with and without an exposure."""

from __future__ import annotations

from collections.abc import Mapping

from intake.catalogue.schema import AnswerOption, Check, Exposure, Fault

NO_FAULT = ""


def telling_answers(check: Check, fault: str = NO_FAULT) -> dict[str, float]:
    """Return the answers that a rider would give if this fault were there, with the share of each.

    For a fault these are the answers that make it most probable, all alike. For no fault (an empty key) they are the answers
    without any, or else those with the least; their own shares count, and what is left is divided equally among the others.
    Nothing is returned for a fault that lengths alone can show.

    Examples
    --------
    >>> from intake.catalogue.loader import load_catalogue
    >>> telling_answers(load_catalogue().check("seat_bolts"), "seized")
    {'will_not_turn': 1.0}
    """
    if fault != NO_FAULT:
        chances = {option.key: option.faults.get(fault, 0.0) for option in check.options}
        most = max(chances.values(), default=0.0)
        told = [key for key, chance in chances.items() if chance == most > 0]
        return {key: 1 / len(told) for key in told}
    least = min((sum(option.faults.values()) for option in check.options), default=0.0)
    return _divided([option for option in check.options if sum(option.faults.values()) == least])


def _divided(options: list[AnswerOption]) -> dict[str, float]:
    given = {option.key: option.share for option in options if option.share is not None}
    left = max(0.0, 1.0 - sum(given.values())) / max(1, len(options) - len(given))
    shares = {option.key: given.get(option.key, left) for option in options}
    added = sum(shares.values())
    return {key: share / added for key, share in shares.items()} if added > 0 else shares


def share_exposed(exposure: Exposure, check: Check | None) -> float:
    """Return the share of riders of whom nothing is known that are exposed.

    Notes
    -----
    With a check that speaks of the exposure it is Σ P(answer) · P(exposed | answer), so that asking changes nothing on average.
    """
    if exposure.share is not None or check is None:
        return exposure.share or 0.0
    rates = {fault.key: fault.rate for fault in check.faults}
    chances = {NO_FAULT: max(0.0, 1.0 - sum(rates.values()))} | rates
    return sum(chance * share_told(exposure, check, fault) for fault, chance in chances.items())


def share_told(exposure: Exposure, check: Check, fault: str) -> float:
    """Return the share of exposed riders among those who have this fault of the check that speaks of the exposure."""
    return sum(share * exposure.given.get(key, 0.0) for key, share in telling_answers(check, fault).items())


def times_as_frequent(fault: Fault, shares: Mapping[str, float], exposed: Mapping[str, bool]) -> float:
    """Return how many times its usual rate a fault has, for riders of whom it is known to what they are exposed.

    Parameters
    ----------
    fault : Fault
        With its factor f for each exposure.
    shares : mapping of exposure key to share
        The share s of exposed riders among all.
    exposed : mapping of exposure key to bool
        What holds for these riders.

    Notes
    -----
    A fault that is f times as frequent among the exposed as among the others has the rate r / (1 − s + s·f) without the exposure
    and f times that with it: on average the usual rate r. Exposures are independent of each other, their factors multiply.

    Examples
    --------
    >>> salty = Fault("corroded", "Corroded", "…", rate=0.1, exposed={"salt": 3.0})
    >>> [times_as_frequent(salty, {"salt": 0.25}, {"salt": there}) for there in (False, True)]
    [0.6666666666666666, 2.0]
    """
    times = 1.0
    for key, factor in fault.exposed.items():
        if key in shares:
            times *= (factor if exposed[key] else 1.0) / (1.0 - shares[key] + shares[key] * factor)
    return times

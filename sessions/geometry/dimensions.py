"""Derived dimensions of a position, each with its one-sigma uncertainty."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sessions.geometry.frame import FloatArray
from sessions.geometry.limits import Unit
from sessions.geometry.measures import measured, propagated_sigma
from sessions.geometry.points import MIDDLES, PointName
from sessions.geometry.position import Position
from sessions.geometry.recipes import RECIPES, Group, Recipe


@dataclass(frozen=True, slots=True)
class Dimension:
    """One figure of a fit.

    Parameters
    ----------
    key : str
        Stable name, the same before and after.
    label : str
        Plain English name.
    value : float
        [unit]
    sigma : float
        One-sigma uncertainty [unit].
    unit : {"mm", "deg"}
    group : Group
        Where it stands in a table.
    """

    key: str
    label: str
    value: float
    sigma: float
    unit: Unit
    group: Group


def weights_of(name: PointName, position: Position) -> FloatArray | None:
    """Return the weights, shape (n,), that make a point from the position's rows; None where it cannot be made."""
    weights = np.zeros(len(position.names))
    if position.has(name):
        weights[position.row(name)] = 1.0
        return weights
    sides = MIDDLES.get(name, ())
    if not sides or not position.has(*sides):
        return None
    weights[[position.row(side) for side in sides]] = 0.5
    return weights


def value_and_gradient(recipe: Recipe, position: Position) -> tuple[float, FloatArray] | None:
    """Evaluate a recipe.

    Returns
    -------
    tuple of float and numpy.ndarray, or None
        The value and its derivative by all coordinates, shape (3n,); None where a point is missing.
    """
    ends = [(weights_of(term.start, position), weights_of(term.end, position)) for term in recipe.terms]
    chosen = [end - start for start, end in ends if start is not None and end is not None]
    if len(chosen) < len(ends):
        return None
    selection = np.array(chosen)
    values, gradients = measured([term.measure for term in recipe.terms], selection @ position.xyz_mm)
    factors = np.array([term.factor for term in recipe.terms])
    gradient = np.einsum("t,tn,ta->na", factors, selection, gradients).ravel()
    return float(factors @ values), gradient


def _is_given(recipe: Recipe, position: Position) -> bool:
    if recipe.unless is not None and position.has(recipe.unless):
        return False
    sided = (point for term in recipe.terms if term.needs_lateral for point in (term.start, term.end))
    return all(position.has_lateral(point) for point in sided)


def dimension(recipe: Recipe, position: Position) -> Dimension | None:
    """Return one dimension, or None where the position does not hold what it needs."""
    evaluated = value_and_gradient(recipe, position) if _is_given(recipe, position) else None
    if evaluated is None or not evaluated[1].any():
        return None
    value, gradient = evaluated
    sigma = propagated_sigma(gradient, position.covariance_mm2)
    return Dimension(recipe.key, recipe.label, value, sigma, recipe.unit, recipe.group)


def dimensions(position: Position) -> tuple[Dimension, ...]:
    """Return every derived dimension whose points the position holds.

    Parameters
    ----------
    position : Position
        Points with their joint covariance.

    Returns
    -------
    tuple of Dimension
        In the order of the tables.

    Notes
    -----
    Uncertainties follow from the joint covariance by exact derivatives. Setback is positive where the saddle lies behind
    the bottom bracket, drop where the hoods lie lower than the saddle, toe-in where the lever tip points inwards.

    Examples
    --------
    >>> p = Position.from_coordinates({PointName.SADDLE_DATUM: (-300.0, 400.0)}, sigma_mm=1.5)
    >>> [(d.key, round(d.value, 2), round(d.sigma, 2)) for d in dimensions(p)]
    [('saddle_height', 500.0, 1.5), ('setback_datum', 300.0, 1.5), ('seat_angle', 53.13, 0.17)]
    """
    found = (dimension(recipe, position) for recipe in RECIPES)
    return tuple(each for each in found if each is not None)

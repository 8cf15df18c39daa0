"""Derived dimensions of a position, each with its one-sigma uncertainty."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from sessions.geometry.frame import FloatArray
from sessions.geometry.limits import Unit
from sessions.geometry.measures import Groups, grouped, measured
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


@dataclass(frozen=True, eq=False, slots=True)
class Evaluated:
    """Every recipe that a set of points can make: values, shape (r,), and derivatives by all coordinates, shape (r, 3n)."""

    recipes: tuple[Recipe, ...]
    values: FloatArray
    gradients: FloatArray


@dataclass(frozen=True, eq=False, slots=True)
class _Plan:
    # selection (t, n) makes each term's vector from the points, factors (r, t) each recipe from its terms.
    recipes: tuple[Recipe, ...]
    selection: FloatArray
    groups: Groups
    factors: FloatArray


@lru_cache(maxsize=256)
def _plan(names: tuple[PointName, ...]) -> _Plan:
    weights = {name: found for name in PointName if (found := _weights(name, names)) is not None}
    recipes = tuple(recipe for recipe in RECIPES if recipe.points <= set(weights))
    terms = [(row, term) for row, recipe in enumerate(recipes) for term in recipe.terms]
    selection, factors = np.zeros((len(terms), len(names))), np.zeros((len(recipes), len(terms)))
    for column, (row, term) in enumerate(terms):
        selection[column] = weights[term.end] - weights[term.start]
        factors[row, column] = term.factor
    return _Plan(recipes, selection, grouped([term.measure for _, term in terms]), factors)


def _weights(name: PointName, names: tuple[PointName, ...]) -> FloatArray | None:
    sides = (name,) if name in names else MIDDLES.get(name, ())
    if not sides or not set(sides) <= set(names):
        return None
    weights = np.zeros(len(names))
    weights[[names.index(side) for side in sides]] = 1.0 / len(sides)
    return weights


def evaluate(position: Position) -> Evaluated:
    """Evaluate every recipe whose points are there, whether or not their z was measured."""
    plan = _plan(position.names)
    values, gradients = measured(plan.groups, plan.selection @ position.xyz_mm)
    by_point = plan.selection[:, :, None] * gradients[:, None, :]
    return Evaluated(
        plan.recipes, plan.factors @ values, plan.factors @ by_point.reshape(len(values), position.xyz_mm.size)
    )


def sigmas_of(evaluated: Evaluated, covariance_mm2: FloatArray) -> FloatArray:
    """Return the one-sigma uncertainties of all recipes, shape (r,), as `propagated_sigma` does for one."""
    squares = ((evaluated.gradients @ covariance_mm2) * evaluated.gradients).sum(axis=1)
    sigmas: FloatArray = np.sqrt(np.clip(squares, 0.0, None))
    return sigmas


def named(recipe: Recipe, value: float, sigma: float) -> Dimension:
    """Return the dimension of a recipe."""
    return Dimension(recipe.key, recipe.label, value, sigma, recipe.unit, recipe.group)


def _is_given(recipe: Recipe, position: Position) -> bool:
    if recipe.unless is not None and position.has(recipe.unless):
        return False
    sided = (point for term in recipe.terms if term.needs_lateral for point in (term.start, term.end))
    return all(position.has_lateral(point) for point in sided)


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
    found = evaluate(position)
    sigmas = sigmas_of(found, position.covariance_mm2)
    return tuple(
        named(recipe, float(value), float(sigma))
        for recipe, value, sigma, gradient in zip(found.recipes, found.values, sigmas, found.gradients, strict=True)
        if gradient.any() and _is_given(recipe, position)
    )

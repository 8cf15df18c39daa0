"""The dimensions that a set of readings decides."""

from __future__ import annotations

import math
from collections.abc import Iterator

from sessions.geometry.dimensions import Dimension, value_and_gradient
from sessions.geometry.measures import propagated_sigma
from sessions.geometry.position import Position
from sessions.geometry.recipes import RECIPES, Recipe
from sessions.tape.common import SCALARS
from sessions.tape.estimate import WORST_SIGMA_DEG, WORST_SIGMA_MM, Estimate
from sessions.tape.solve import Solution


def decided_dimensions(solution: Solution) -> Iterator[Dimension]:
    """Yield every derived dimension and scalar that the readings fix, even where its points are not placed.

    Notes
    -----
    A dimension is fixed where its gradient has no part along the directions that no reading decides.
    """
    for recipe in RECIPES:
        found = _decided(recipe, solution.estimate, solution.position)
        if found is not None:
            yield found
    for key, spec in SCALARS.items():
        if key in solution.scalars:
            yield Dimension(key, spec.label, *solution.scalars[key], spec.unit, spec.group)
    yield from _scalar_differences(solution)


def _decided(recipe: Recipe, estimate: Estimate, placed: Position) -> Dimension | None:
    if recipe.unless is not None and placed.has(recipe.unless):
        return None
    evaluated = value_and_gradient(recipe, estimate.position)
    if evaluated is None or not estimate.decides(evaluated[1]):
        return None
    value, gradient = evaluated
    sigma = propagated_sigma(gradient, estimate.position.covariance_mm2)
    if sigma > (WORST_SIGMA_MM if recipe.unit == "mm" else WORST_SIGMA_DEG):
        return None
    return Dimension(recipe.key, recipe.label, value, sigma, recipe.unit, recipe.group)


def _scalar_differences(solution: Solution) -> Iterator[Dimension]:
    for stem in dict.fromkeys(key.rpartition("_")[0] for key in SCALARS):
        left, right = solution.scalars.get(f"{stem}_left"), solution.scalars.get(f"{stem}_right")
        if left and right:
            spec = SCALARS[f"{stem}_left"]
            label = spec.label.removesuffix(", left") + ", left minus right"
            sigma = math.hypot(left[1], right[1])
            yield Dimension(f"{stem}_difference", label, left[0] - right[0], sigma, spec.unit, spec.group)

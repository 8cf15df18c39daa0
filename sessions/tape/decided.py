"""The dimensions that a set of readings decides."""

from __future__ import annotations

import math
from collections.abc import Iterator

from sessions.geometry.dimensions import Dimension, evaluate, named, sigmas_of
from sessions.tape.common import SCALARS
from sessions.tape.estimate import WORST_SIGMA_DEG, WORST_SIGMA_MM
from sessions.tape.solve import Solution


def decided_dimensions(solution: Solution) -> Iterator[Dimension]:
    """Yield every derived dimension and scalar that the readings fix, even where its points are not placed.

    Notes
    -----
    A dimension is fixed where its gradient has no part along the directions that no reading decides.
    """
    yield from _by_recipe(solution)
    for key, spec in SCALARS.items():
        if key in solution.scalars:
            yield Dimension(key, spec.label, *solution.scalars[key], spec.unit, spec.group)
    yield from _scalar_differences(solution)


def _by_recipe(solution: Solution) -> Iterator[Dimension]:
    estimate = solution.estimate
    found = evaluate(estimate.position)
    sigmas = sigmas_of(found, estimate.position.covariance_mm2)
    sure = estimate.decides(found.gradients)
    for recipe, value, sigma, decided in zip(found.recipes, found.values.tolist(), sigmas.tolist(), sure, strict=True):
        worst = WORST_SIGMA_MM if recipe.unit == "mm" else WORST_SIGMA_DEG
        replaced = recipe.unless is not None and solution.position.has(recipe.unless)
        if decided and sigma <= worst and not replaced:
            yield named(recipe, value, sigma)


def _scalar_differences(solution: Solution) -> Iterator[Dimension]:
    for stem in dict.fromkeys(key.rpartition("_")[0] for key in SCALARS):
        left, right = solution.scalars.get(f"{stem}_left"), solution.scalars.get(f"{stem}_right")
        if left and right:
            spec = SCALARS[f"{stem}_left"]
            label = spec.label.removesuffix(", left") + ", left minus right"
            sigma = math.hypot(left[1], right[1])
            yield Dimension(f"{stem}_difference", label, left[0] - right[0], sigma, spec.unit, spec.group)

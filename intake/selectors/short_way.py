"""The short way through a check: first the answers that tell the studio most."""

from itertools import accumulate

from intake.selectors.previsit import CheckList, Step

SHORT_MIN = 12


def most_telling(checks: CheckList) -> tuple[Step, ...]:
    """Return the open checks as steps, clinical signs first as their pages follow, then in the order that the triage asks for."""
    place = {question.check.key: rank for rank, question in enumerate(checks.triage.questions, start=1)}
    first = dict.fromkeys((check.key for check in checks.clinical), 0)
    open_ = (step for step in checks.open_steps if step.key in place)
    return tuple(sorted(open_, key=lambda step: (place | first)[step.key]))


def short_way(checks: CheckList) -> tuple[Step, ...]:
    """Return the most telling steps that fit into about ten minutes; none where that is all there is."""
    ranked = most_telling(checks)
    taken = sum(minutes <= SHORT_MIN for minutes in accumulate(step.home_min for step in ranked))
    return ranked[:taken] if taken < len(ranked) else ()


def next_telling(checks: CheckList, key: str, then: str = "") -> Step | None:
    """Return where the short way goes on after a step.

    That is the step ``then``, which the page of this one named, so that nothing that was passed over comes up again; else the
    next of the open ones, the best where this one is not open.
    """
    ranked = most_telling(checks)
    places = {step.key: place for place, step in enumerate(ranked)}
    if then in places:
        return ranked[places[then]]
    return next(iter(ranked[places.get(key, -1) + 1 :]), None)

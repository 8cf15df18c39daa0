"""The short way through a check: first the answers that tell the studio most."""

from intake.selectors.previsit import CheckList, Step

FIVE_MIN, TEN_MIN = 7, 12  # about five minutes and about ten, as riders count them


def most_telling(checks: CheckList) -> tuple[Step, ...]:
    """Return the open checks as steps, clinical signs first as their pages follow, then in the order that the triage asks for."""
    place = {question.check.key: rank for rank, question in enumerate(checks.triage.questions, start=1)}
    first = dict.fromkeys((check.key for check in checks.clinical), 0)
    open_ = (step for step in checks.open_steps if step.key in place)
    return tuple(sorted(open_, key=lambda step: (place | first)[step.key]))


def short_way(checks: CheckList, minutes: float = TEN_MIN) -> tuple[Step, ...]:
    """Return the most telling steps that fit into this many minutes; none where that is all there is."""
    ranked, taken, left = most_telling(checks), [], minutes
    for step in ranked:
        if step.home_min <= left:
            taken.append(step)
            left -= step.home_min
    return tuple(taken) if len(taken) < len(ranked) else ()


def next_telling(checks: CheckList, key: str, then: str = "", left: float | None = None) -> Step | None:
    """Return where the short way goes on after a step.

    That is the step ``then``, which the page of this one named, so that nothing that was passed over comes up again; else the
    next of the open ones, the best where this one is not open. ``left`` is for how many minutes the rider has time, None for any.
    """
    ranked = most_telling(checks)
    places = {step.key: place for place, step in enumerate(ranked)}
    if then in places:
        return ranked[places[then]]
    following = ranked[places.get(key, -1) + 1 :]
    return next((step for step in following if left is None or step.home_min <= left), None)

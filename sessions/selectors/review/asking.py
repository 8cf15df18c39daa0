"""In which order the desk asks a rider: what the verdict waits for, then what is most worth knowing."""

from intake.catalogue.schema import Check, Hazard
from intake.triage.engine import Triage

HAZARDS = tuple(Hazard)


def asking_order(triage: Triage) -> tuple[Check, ...]:
    """Return the checks without an answer: what matters for safety, what a reason of the verdict waits for, the rest by its worth.

    The gravest hazard comes first. Otherwise the most worth asking does, and last what the rider has tried and could not do.
    """
    waited_for = {key for reason in triage.reasons for key in reason.checks}
    ranked = {question.check.key: place for place, question in enumerate(triage.questions)}

    def rank(check: Check) -> tuple[int, bool, int]:
        is_waited_for = check.key in waited_for
        danger = gravest_hazard(check) if is_waited_for else 0
        return -danger, not is_waited_for, ranked.get(check.key, len(ranked))

    return tuple(sorted((unknown.check for unknown in triage.unknowns), key=rank))


def gravest_hazard(check: Check) -> int:
    """Return how grave the gravest fault of a check is: 0 for none, 3 for an emergency."""
    return max((HAZARDS.index(fault.hazard) for fault in check.faults), default=0)

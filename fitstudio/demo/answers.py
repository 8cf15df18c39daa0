"""Answer the pre-visit check for a rider of the demo."""

from collections.abc import Mapping

from intake.catalogue.schema import Check
from intake.models import PreVisitCheck
from intake.selectors.catalogue import current_catalogue
from intake.services.answers import Given, save_answers
from intake.services.triage import refresh_summary
from intake.slots import SessionSlot
from intake.triage.engine import Triage

Told = Mapping[str, object]
# What a sound bike measures, where a check takes lengths beside its answer.
USUAL_LENGTHS_MM = {"spacers": {"under_mm": 15.0, "over_mm": 5.0}}


def answer_some(pre_visit: PreVisitCheck, session_slot: SessionSlot, told: Told) -> None:
    """Give the answers that are told, and no others."""
    catalogue = current_catalogue()
    said = [(catalogue.check(key), given(answer)) for key, answer in told.items()]
    save_answers(pre_visit=pre_visit, session_slot=session_slot, said=said)


def answer_all(pre_visit: PreVisitCheck, session_slot: SessionSlot, told: Told) -> None:
    """Answer every check that is asked: as told, or that all is well. An answer may raise or settle further checks."""
    left, result = dict(told), refresh_summary(pre_visit, session_slot=session_slot)
    while asked := _open_checks(result):
        said = [(check, given(left.pop(check.key)) if check.key in left else all_is_well(check)) for check in asked]
        result = save_answers(pre_visit=pre_visit, session_slot=session_slot, said=said)
    if left:
        raise ValueError(f"{pre_visit}: not asked, so not to be answered: {', '.join(left)}")


def _open_checks(result: Triage) -> list[Check]:
    open_keys = {unknown.check.key for unknown in result.unknowns}
    return [check for check in result.asked if check.key in open_keys]


def given(answer: object) -> Given:
    """Return an answer as the files of the demo write it: an option, or a table with lengths or a note."""
    return Given(**answer) if isinstance(answer, dict) else Given(option=str(answer))


def all_is_well(check: Check) -> Given:
    """Return the first answer of a check that means no fault."""
    option = next(option.key for option in check.options if not option.faults)
    return Given(option=option, lengths_mm=USUAL_LENGTHS_MM.get(check.key, {}))

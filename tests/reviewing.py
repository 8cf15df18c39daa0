"""Riders' checks for tests of the review, answered through the product's own services."""

from intake.catalogue.schema import COULD_NOT
from intake.selectors.previsit import check_list
from intake.services.answers import Given, save_answer, save_answers
from intake.services.triage import refresh_summary
from intake.slots import slot_of


def answered(fit_session, by=None, **options):
    """Answer some checks of a session's rider; return the triage."""
    result = refresh_summary(fit_session.pre_visit)
    for key, option in options.items():
        session_slot = slot_of(fit_session.pre_visit_id)
        check = check_list(fit_session.pre_visit, session_slot).check(key)
        result = save_answer(
            pre_visit=fit_session.pre_visit, session_slot=session_slot, check=check, given=Given(option), by=by
        )
    return result


def all_answered(fit_session, by=None, **but):
    """Answer every check that is asked, each without a fault, but for those named; return the triage."""
    session_slot = slot_of(fit_session.pre_visit_id)
    while open_checks := _open(fit_session, session_slot):
        said = [(check, Given(_option(check, but))) for check in open_checks]
        result = save_answers(pre_visit=fit_session.pre_visit, session_slot=session_slot, said=said, by=by)
    return result


def _option(check, but):
    option = but.get(check.key) or next(option.key for option in check.options if not option.faults)
    assert option in {COULD_NOT, *(each.key for each in check.options)}, f"{check.key} takes no “{option}”"
    return option


def _open(fit_session, session_slot):
    steps = check_list(fit_session.pre_visit, session_slot)
    return [check for check in steps.asked if not steps.is_done(check)]

"""What the computing core makes of exactly what the rider said, put together from the story and not from stored rows."""

from intake.catalogue.loader import load_catalogue
from intake.catalogue.schema import COULD_NOT, BikeKind
from intake.triage.answers import Answer, BikeFacts, Complaint, Slot, TriageInput, WorkingDays
from intake.triage.engine import triage
from tests.browser.main_job import story
from tests.factories import ESSENTIAL

MONDAY_TO_FRIDAY = WorkingDays(frozenset(range(5)))  # no public holiday in England before April
KNEE = Complaint("knee_front", "left", story.SORE_SCORE)


def sound_answer(title):
    """The label of a question's first answer that means no fault."""
    check = next(check for check in load_catalogue().checks if check.title == title)
    return next(option.label for option in check.options if not option.faults)


def judged(rulings=None, extra_min=0):
    """The triage of the story's answers under these rulings, with so much more time."""
    slot = Slot(
        planned_min=story.PLANNED_MIN,
        slack_min=story.SLACK_MIN + extra_min,
        essential=frozenset(ESSENTIAL),
        starts_on=story.STARTS_AT.date(),
        today=story.BOOKED_AT.date(),
        working_days=MONDAY_TO_FRIDAY,
    )
    bike = BikeFacts(BikeKind.ROAD)
    return triage(TriageInput(load_catalogue(), bike, _answers(), (KNEE,), slot, rulings or {}))


def _answers():
    return {check.key: _answer(check) for check in load_catalogue().checks}


def _answer(check):
    if check.title == story.SPACERS_TITLE:
        return Answer(lengths_mm=story.SPACERS_MM)
    label = story.ANSWERS.get(check.title) or sound_answer(check.title)
    return Answer(next((option.key for option in check.options if option.label == label), COULD_NOT))

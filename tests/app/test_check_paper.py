"""The questions for paper: everything that may be asked of this bike, in words and in the rider's unit."""

import pytest

from intake.catalogue.loader import load_catalogue
from intake.selectors.paper import paper_check
from intake.selectors.previsit import check_list
from intake.slots import slot_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def pre_visit(fit_session):
    """The check of the booked session."""
    return fit_session.pre_visit


def questions(pre_visit):
    """The printed questions by title."""
    return {one.title: one for part in paper_check(pre_visit, load_catalogue()).parts for one in part.questions}


def test_paper_holds_every_question_of_an_empty_check_and_those_that_answers_unlock(pre_visit):
    """Whatever the rider will answer, the question is on the paper; the paper asks in the order of the pages."""
    asked = [check.title for check in check_list(pre_visit, slot_of(pre_visit.pk)).asked]
    printed = list(questions(pre_visit))
    assert [title for title in printed if title in asked] == asked
    of_this_kind = {check.title for check in load_catalogue().checks if not check.kinds or "road" in check.kinds}
    assert set(printed) == of_this_kind


def test_a_question_holds_what_the_page_holds(pre_visit):
    """Why, steps, tools, minutes, caution, every answer with “I could not do it” last, and lengths with their unit."""
    check, printed = load_catalogue().check("spacers"), questions(pre_visit)["Spacers under and over the stem"]
    assert (printed.question, printed.why, printed.steps, printed.tools) == (
        check.question,
        check.why,
        check.steps,
        check.tools,
    )
    assert printed.answers == (*(option.label for option in check.options), "I could not do it")
    assert [(length.label, length.unit) for length in printed.lengths] == [
        ("Spacers under the stem", "mm"),
        ("Spacers over the stem", "mm"),
    ]
    assert questions(pre_visit)["Riding indoors"].answers[-1] == "I cannot say"
    assert questions(pre_visit)["Seatpost slides"].caution == load_catalogue().check("post_slides").caution


def test_paper_speaks_the_riders_unit(pre_visit):
    """Inches where the rider chose inches."""
    pre_visit.client.length_unit = "in"
    assert questions(pre_visit)["Spacers under and over the stem"].lengths[0].unit == "in"


def test_paper_says_when_a_question_falls_away(pre_visit):
    """What the page hides by itself, the paper says in words."""
    assert questions(pre_visit)["Wear of the cleats"].only_if == (
        "Leave this out if “Kind of pedals” is “Flat, without a cleat”."
    )
    assert questions(pre_visit)["Gears"].only_if == ""


def test_what_is_known_of_the_bike_is_not_printed(pre_visit):
    """Known flat pedals leave no question about pedals or cleats, and no sentence about either."""
    pre_visit.bike.pedal_kind = "flat"
    printed = questions(pre_visit)
    assert not {"Kind of pedals", "Wear of the cleats", "Bolts of the cleats"} & set(printed)
    assert all("Kind of pedals" not in one.only_if for one in printed.values())


def test_paper_costs_no_query(pre_visit, django_assert_num_queries):
    """Everything on it comes from the catalogue and from rows that were read already."""
    with django_assert_num_queries(0):
        paper = paper_check(pre_visit, load_catalogue())
    assert paper.rider == pre_visit.client.name
    assert [place.label for place in paper.places] == [area.label for area in load_catalogue().areas]
    assert paper.minutes > 30

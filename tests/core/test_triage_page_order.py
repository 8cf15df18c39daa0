"""In which order the pages ask: answered ones as they were answered, then signs, gates, and what is worth most."""

from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st

from intake.catalogue.loader import load_catalogue
from intake.catalogue.schema import BikeKind, Condition, Group, Hazard
from intake.triage.answers import BikeFacts
from intake.triage.asking import asked_checks
from intake.triage.engine import triage
from intake.triage.page_order import is_clinical, page_order
from tests import strategies
from tests.core.catalogues import catalogue, check, fault, given

SIGNS = check("signs", fault("numb", minutes=None, hazard=Hazard.SEE_CLINICIAN, remedies=()))
GATE = check("gate")
BEHIND = check("behind", fault("loose", rate=0.01), conditions=(Condition("answer.gate", ("flat",), unless=True),))
CHEAP = check("cheap", fault("worn", rate=0.02, minutes=(3, 5)))
DEAR = check("dear", fault("stuck", rate=0.4, minutes=(30, 80)))
ALL = (CHEAP, BEHIND, GATE, DEAR, SIGNS)


def order(answered=(), **answers):
    """The keys of the pages."""
    found = triage(given(*ALL, answers=answers))
    return [each.key for each in page_order(catalogue(*ALL), ALL, found.questions, answered)]


def test_signs_and_gates_come_before_what_is_worth_most():
    """A doctor first; then what saves other questions; then the answer that tells most."""
    assert order() == ["signs", "gate", "dear", "behind", "cheap"]


def test_one_page_back_is_the_page_that_came_before():
    """What was answered stays in the order in which it was, whatever the catalogue's."""
    assert order(["dear", "signs"], dear="fine", signs="fine")[:3] == ["dear", "signs", "gate"]


@settings(max_examples=80)
@drawn(strategies.triage_inputs(), st.randoms(use_true_random=False))
def test_every_asked_check_has_one_page_in_its_group(drawn_input, random):
    """Nothing is lost or doubled; groups keep their order; the answered ones of a group come first, as they were answered."""
    asked = asked_checks(drawn_input.catalogue, drawn_input.bike, drawn_input.answers)
    answered = [each.key for each in asked if each.key in drawn_input.answers]
    random.shuffle(answered)
    found = page_order(drawn_input.catalogue, asked, triage(drawn_input).questions, answered)
    assert sorted(each.key for each in found) == sorted(each.key for each in asked)
    assert [list(Group).index(each.group) for each in found] == sorted(list(Group).index(each.group) for each in found)
    for group in Group:
        keys = [each.key for each in found if each.group is group]
        done = [key for key in answered if key in keys]
        assert keys[: len(done)] == done


def test_the_shipped_pages_begin_with_the_signs_and_ask_gates_before_what_hangs_on_them():
    """On every kind of bike."""
    shipped = load_catalogue()
    for kind in BikeKind:
        bike = BikeFacts(kind)
        asked = asked_checks(shipped, bike, {})
        found = triage(given(bike=bike).__class__(shipped, bike, {}, (), given().slot))
        keys = [each.key for each in page_order(shipped, asked, found.questions, [])]
        clinical = [each.key for each in asked if is_clinical(each)]
        assert keys[: len(clinical)] == clinical
        for each in asked:
            for condition in each.conditions:
                source, _, name = condition.subject.partition(".")
                if source == "answer" and name in keys and shipped.check(name).group is each.group:
                    assert keys.index(name) < keys.index(each.key)

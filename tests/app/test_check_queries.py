"""Every page of the check takes the same few queries, however much was answered."""

import pytest
from django.urls import reverse

from intake.catalogue.loader import load_catalogue
from intake.triage.page_order import is_clinical
from tests import factories

pytestmark = pytest.mark.django_db

# The link with its check, client and bike; the slot in four; answers, discomfort, decisions and repairs; what was learned.
READING = 1 + 4 + 4 + 1
PAGES = [
    ("start", []),
    ("sheet", []),
    ("question", ["spacers"]),
    ("discomfort", []),
    ("place", ["knee_front-left"]),
    ("finish", []),
    ("advice", []),
]


def fill(pre_visit):
    """Answer everything and mark every place."""
    catalogue = load_catalogue()
    for check in catalogue.checks:
        option = check.options[0] if is_clinical(check) else check.options[-1]
        factories.CheckAnswerFactory(pre_visit=pre_visit, check_key=check.key, option=option.key)
    for area in catalogue.areas:
        for side in ("left", "right") if area.sided else ("",):
            factories.DiscomfortFactory(pre_visit=pre_visit, area=area.key, side=side, score=5)


@pytest.mark.parametrize("full", [False, True])
@pytest.mark.parametrize(("page", "args"), PAGES)
def test_a_page_reads_in_a_fixed_number_of_queries(client, rider_link, django_assert_num_queries, page, args, full):
    """Empty or full, the rider's page costs the same."""
    if full:
        fill(rider_link.pre_visit)
    address = reverse(f"check:{page}", args=[rider_link.token, *args])
    client.get(address)
    # The start page asks once more: for what the desk has asked.
    with django_assert_num_queries(READING + (page == "start")):
        assert client.get(address).status_code == 200


@pytest.mark.parametrize("page", ["start", "sheet", "discomfort"])
def test_a_stop_costs_one_query_more(client, rider_link, django_assert_num_queries, page):
    """Whether the studio has read the red flag."""
    factories.CheckAnswerFactory(pre_visit=rider_link.pre_visit, check_key="red_flags_clinician", option="swollen")
    address = reverse(f"check:{page}", args=[rider_link.token])
    client.get(address)
    with django_assert_num_queries(READING + (page == "start") + 1):
        assert "The bike can wait" in client.get(address).content.decode()


@pytest.mark.parametrize("full", [False, True])
@pytest.mark.parametrize(("page", "args"), PAGES)
def test_the_desks_pages_add_only_the_log_in(fitter_client, fit_session, django_assert_num_queries, page, args, full):
    """Session and user for the link: one query more."""
    if full:
        fill(fit_session.pre_visit)
    address = reverse(f"desk_check:{page}", args=[fit_session.pre_visit_id, *args])
    with django_assert_num_queries(READING + 2):
        assert fitter_client.get(address).status_code == 200


@pytest.mark.parametrize("full", [False, True])
@pytest.mark.parametrize("htmx", [False, True])
def test_saving_an_answer_takes_a_fixed_number_of_queries(client, rider_link, django_assert_num_queries, htmx, full):
    """Read, keep, judge, keep the summary, read again: the same on the first answer and on the last."""
    if full:
        fill(rider_link.pre_visit)
    client.post(reverse("check:question", args=[rider_link.token, "gears"]), {"gears-option": "fine"})
    address = reverse("check:question", args=[rider_link.token, "gears"])
    headers = {"HTTP_HX_REQUEST": "true"} if htmx else {}
    with django_assert_num_queries(READING + 16):
        client.post(address, {"gears-option": "slipping"}, **headers)

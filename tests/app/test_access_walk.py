"""Nobody reaches a page that is not theirs: every address of the product is opened as everybody."""

import re
from datetime import timedelta

import pytest
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone

from intake.models import JobLink
from sessions.models import FitSession
from tests import factories
from tests.routes import OWNER_PAGES, PAGES, PUBLIC_PAGES, RIDER_PAGES, STAFF_PAGES, WORKSHOP_PAGES, values_for

pytestmark = pytest.mark.django_db

LEVELS = {"public", "staff", "owner", "rider", "workshop"}
LOGIN = re.compile(r"^/accounts/login/")


def named(pages):
    """Parametrise by page, with readable ids."""
    return pytest.mark.parametrize("page", pages, ids=lambda page: page.name)


@pytest.fixture
def values(fit_session, rider_link):
    """A value for every parameter that an address can have."""
    return values_for(fit_session, rider_link)


def asks_to_log_in(response):
    """Whether the answer sends a stranger to the log-in."""
    return response.status_code == 302 and bool(LOGIN.match(response["Location"]))


def opened(browser, page, values, **forced):
    """The answers to reading the page and to sending it an empty form."""
    path = page.path(values, **forced)
    return [browser.get(path), browser.post(path)]


@named(PAGES)
def test_every_view_says_who_may_open_it(page):
    """A view without an access decorator does not exist."""
    assert page.access in LEVELS


@named(STAFF_PAGES + OWNER_PAGES)
def test_nobody_and_no_rider_opens_a_staff_page(page, values, client):
    """A stranger is sent to the log-in, and so is a rider who has just opened their own link."""
    assert all(asks_to_log_in(response) for response in opened(client, page, values))
    client.get(reverse("rider:home", args=[values["token"]]))
    assert all(asks_to_log_in(response) for response in opened(client, page, values))


@named(STAFF_PAGES + OWNER_PAGES)
def test_no_log_in_is_swapped_into_a_page(page, values, client):
    """Where a log-in has ended meanwhile, what saves itself is refused, and what was typed stays where it is."""
    for send in (client.get, client.post):
        answer = send(page.path(values), headers={"HX-Request": "true"})
        assert (answer.status_code, answer.content) == (403, b"")


@named(RIDER_PAGES)
def test_a_rider_page_opens_only_by_its_own_link(page, values, client, rider_link):
    """The rider gets in; a forged, a cut and a made-up token do not; a revoked and an expired link say so."""
    assert client.get(page.path(values)).status_code in {200, 302, 405}
    assert all(response.status_code < 500 for response in opened(client, page, values))
    key, signature = rider_link.token.split(".")
    forged = "0" if signature[0] != "0" else "1"
    for token in (f"{key}.{forged}{signature[1:]}", rider_link.token[:-1], key, f"{key}.", "x" * 300, "é.ü", "."):
        answers = opened(client, page, values, token=token)
        assert all(response.status_code == 404 for response in answers), token
    rider_link.expires_at = timezone.now() - timedelta(seconds=1)
    rider_link.save()
    assert all(response.status_code == 410 for response in opened(client, page, values, token=rider_link.token))
    rider_link.expires_at, rider_link.revoked_at = timezone.now() + timedelta(days=1), timezone.now()
    rider_link.save()
    assert all(response.status_code == 410 for response in opened(client, page, values, token=rider_link.token))


def forgeries(token):
    """Tokens that look like this one and are not."""
    key, signature = token.split(".")
    forged = "0" if signature[0] != "0" else "1"
    return (f"{key}.{forged}{signature[1:]}", token[:-1], key, f"{key}.", "x" * 300, "é.ü", ".")


@named(WORKSHOP_PAGES)
def test_a_workshops_page_opens_only_by_its_own_link(page, values, client, rider_link):
    """The workshop gets in; forged, cut and made-up tokens do not, nor does a rider's; closed links say so and give nothing away."""
    job_link = JobLink.objects.get()
    assert client.get(page.path(values)).status_code in {200, 302, 405}
    assert all(response.status_code < 500 for response in opened(client, page, values))
    for token in (*forgeries(job_link.token), rider_link.token):
        answers = opened(client, page, values, token=token)
        assert all(response.status_code in {404, 405} for response in answers), token
        assert answers[1].status_code == 404, token
    for closed in ({"expires_at": timezone.now(), "revoked_at": None}, {"revoked_at": timezone.now()}):
        FitSession.objects.update(starts_at=timezone.now() - timedelta(days=15))
        JobLink.objects.update(**closed)
        for response in opened(client, page, values):
            assert response.status_code in ({405, 200} if page.name == "workshop:ask" else {410})
            assert "Seatpost" not in response.content.decode()


@named(RIDER_PAGES)
def test_a_workshops_link_opens_no_page_of_the_rider(page, values, client):
    """The two kinds of link are signed apart."""
    token = JobLink.objects.get().token
    assert all(response.status_code == 404 for response in opened(client, page, values, token=token))


def test_a_workshop_answers_no_line_of_another_sheet(values, client, fit_session):
    """The link of one sheet reaches its own lines only."""
    other = factories.JobLineFactory(job_sheet__pre_visit=fit_session.pre_visit)
    path = reverse("workshop:answer", args=[JobLink.objects.get().token, other.pk])
    assert client.post(path, {}).status_code == 404


@named(RIDER_PAGES)
def test_a_wrong_rider_sees_only_their_own_things(page, values, client, fit_session):
    """Another rider's link opens the other's pages: nothing of the first rider is on them."""
    other = factories.FitSessionFactory(studio=fit_session.studio, occupancy=False)
    theirs = factories.RiderLinkFactory(pre_visit=other.pre_visit)
    response = client.get(page.path(values, token=theirs.token), follow=True)
    text = response.content.decode(errors="replace")
    assert fit_session.client.name not in text
    assert fit_session.client.email not in text


@named(STAFF_PAGES)
def test_a_fitter_opens_every_staff_page(page, values, fitter_client):
    """Staff get in; nothing breaks on an empty form."""
    for response in opened(fitter_client, page, values):
        assert not asks_to_log_in(response)
        assert response.status_code not in {403, 404}
        assert response.status_code < 500


@named(OWNER_PAGES)
def test_only_an_owner_opens_an_owners_page(page, values, client, fitter_user, owner_user):
    """A fitter and the front desk are told that it is not theirs, whatever they send; an owner gets in."""
    for user in (fitter_user, factories.UserFactory(role="desk")):
        client.force_login(user)
        assert [response.status_code for response in opened(client, page, values)] == [403, 403]
    client.force_login(owner_user)
    assert all(response.status_code not in {403, 404} for response in opened(client, page, values))


@named(STAFF_PAGES + OWNER_PAGES + PUBLIC_PAGES)
def test_an_owner_opens_everything_but_riders_links(page, values, owner_user):
    """Owners are staff too."""
    browser = Browser()
    browser.force_login(owner_user)
    assert all(
        response.status_code not in {302, 403, 404} or not asks_to_log_in(response)
        for response in opened(browser, page, values)
    )
    assert browser.get(page.path(values)).status_code < 500


@named(PUBLIC_PAGES)
def test_a_public_page_asks_nobody_to_log_in(page, values, client):
    """Whoever comes may look at services and starts."""
    assert not any(asks_to_log_in(response) for response in opened(client, page, values))


@named(STAFF_PAGES + OWNER_PAGES)
def test_a_row_that_does_not_exist_is_a_plain_not_found(page, values, client, owner_user):
    """A made-up id is 404, never an error of ours."""
    client.force_login(owner_user)
    numbers = [name for name in page.parameters if name == "pk" or name.endswith("_pk")]
    if not numbers:
        assert client.get(page.path(values)).status_code < 500
        return
    for made_up in (0, 999_999_999, 2**63 - 1, 2**63, 10**30):
        forged = dict.fromkeys(numbers, made_up)
        for response in opened(client, page, values, **forged):
            assert response.status_code in {404, 405}, (made_up, response.status_code)


@pytest.mark.parametrize(("who", "inside"), [("nobody", False), ("fitter_user", False), ("owner_user", True)])
def test_only_owners_reach_the_records(who, inside, request, client):
    """The admin is the owner's."""
    if who != "nobody":
        client.force_login(request.getfixturevalue(who))
    assert (client.get(reverse("admin:index")).status_code == 200) is inside

"""Who may open the check: the rider by their own link, staff at the desk, nobody else."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from intake.services.links import revoke_links
from tests import factories

pytestmark = pytest.mark.django_db

PAGES = [
    ("start", []),
    ("question", ["post_slides"]),
    ("discomfort", []),
    ("place", ["knee_front-left"]),
    ("finish", []),
    ("advice", []),
    ("sheet", []),
]
POSTED = [(page, args) for page, args in PAGES if page not in {"start", "advice", "sheet"}]
every_page = pytest.mark.parametrize(("page", "args"), PAGES)


def rider_url(link, page, args=()):
    """The address of a page under a private link."""
    return reverse(f"check:{page}", args=[link.token, *args])


def desk_url(pre_visit, page, args=()):
    """The address of a page at the desk."""
    return reverse(f"desk_check:{page}", args=[pre_visit.pk, *args])


@every_page
def test_the_link_opens_every_page(client, rider_link, page, args):
    """A rider needs the link and nothing else; the answer may not be kept or indexed by anybody."""
    response = client.get(rider_url(rider_link, page, args))
    assert response.status_code == 200
    assert "no-store" in response["Cache-Control"]
    assert response["X-Robots-Tag"] == "noindex"


@every_page
def test_another_riders_link_opens_only_the_other_riders_pages(client, rider_link, page, args):
    """What a page shows belongs to the check of its own link."""
    other_session = factories.FitSessionFactory(
        studio=rider_link.pre_visit.fit_session.studio,
        starts_at=rider_link.pre_visit.fit_session.starts_at + timedelta(days=1),
    )
    other = factories.RiderLinkFactory(pre_visit=other_session.pre_visit)
    answer = factories.CheckAnswerFactory(
        pre_visit=rider_link.pre_visit, check_key="post_slides", option="stuck", note="private remark"
    )
    factories.DiscomfortFactory(pre_visit=rider_link.pre_visit, area="knee_front", side="left", score=7, note="mine")
    shown = client.get(rider_url(other, page, args)).content.decode()
    assert answer.note not in shown
    assert "mine" not in shown
    assert other.pre_visit.bike.client.name in shown


@every_page
@pytest.mark.parametrize("token", ["x", "a.b", "..", "%F0%9F%9A%B2", "%00", "A" * 300])
def test_a_malformed_token_opens_nothing(client, fit_session, page, args, token):
    """Whatever stands in the address, the answer is the page for unknown links."""
    marker = reverse(f"check:{page}", args=["TOKEN", *args])
    assert client.get(marker.replace("TOKEN", token)).status_code == 404


@every_page
def test_a_revoked_or_expired_link_is_gone(client, rider_link, page, args):
    """A closed link says that it is closed."""
    revoke_links(pre_visit=rider_link.pre_visit)
    late = factories.RiderLinkFactory(pre_visit=rider_link.pre_visit, expires_at=timezone.now() - timedelta(seconds=1))
    assert client.get(rider_url(rider_link, page, args)).status_code == 410
    assert client.get(rider_url(late, page, args)).status_code == 410


@pytest.mark.parametrize(("page", "args"), POSTED)
def test_nobody_posts_without_an_open_link(client, rider_link, page, args):
    """A closed link stores nothing."""
    revoke_links(pre_visit=rider_link.pre_visit)
    response = client.post(rider_url(rider_link, page, args), {"post_slides-option": "stuck", "score": "3"})
    assert response.status_code == 410
    assert not rider_link.pre_visit.answers.exists()
    assert not rider_link.pre_visit.discomforts.exists()


@every_page
@pytest.mark.parametrize("method", ["put", "patch", "delete"])
def test_a_wrong_method_is_refused(client, rider_link, page, args, method):
    """Pages are read and posted to, nothing else."""
    assert getattr(client, method)(rider_url(rider_link, page, args)).status_code == 405


@pytest.mark.parametrize("page", ["start", "advice", "sheet"])
def test_pages_that_only_show_take_no_post(client, rider_link, page):
    """There is nothing to post to a page that only shows."""
    assert client.post(rider_url(rider_link, page)).status_code == 405


@every_page
def test_the_desk_pages_are_for_staff(client, fitter_user, rider_link, page, args):
    """Nobody and the rider are sent to the log-in, staff see the page."""
    address = desk_url(rider_link.pre_visit, page, args)
    turned_away = client.get(address)
    assert turned_away.status_code == 302
    assert turned_away["Location"].startswith(reverse("login"))
    client.force_login(fitter_user)
    assert client.get(address).status_code == 200


@every_page
@pytest.mark.parametrize("pk", ["999999", "9" * 40])
def test_a_check_that_does_not_exist_is_not_found(fitter_client, page, args, pk):
    """A forged number leads to the page for unknown addresses, however large it is."""
    marker = reverse(f"desk_check:{page}", args=[4242424242, *args])
    assert fitter_client.get(marker.replace("4242424242", pk)).status_code == 404


def test_a_check_without_a_session_is_not_found(client, db):
    """A check that belongs to no session has no pages."""
    link = factories.RiderLinkFactory()
    assert client.get(rider_url(link, "start")).status_code == 404


@every_page
def test_every_page_says_who_may_open_it(rider_link, page, args):
    """The decorator's mark is on the view that the address leads to."""
    from django.urls import resolve

    assert resolve(rider_url(rider_link, page, args)).func.access == "rider"
    assert resolve(desk_url(rider_link.pre_visit, page, args)).func.access == "staff"

"""The desk finds a client in any script, sees all that belongs to them, and keeps it right."""

from datetime import timedelta

import pytest
from django.core import mail as django_mail
from django.urls import reverse
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from fitstudio.desk import services
from fitstudio.desk.selectors import found_clients
from intake.models import Bike, Client, RiderLink
from intake.models.bikes import LIMITS
from intake.services.answers import choose_unit
from intake.services.links import LinkClosedError, open_link
from intake.tasks import send_waiting_mail
from sessions.models import FitSession
from tests import factories

pytestmark = pytest.mark.django_db
CLIENTS = reverse("desk:clients")
HTMX = {"HX-Request": "true"}
NASTY = ["<script>alert(1)</script>", "🚲🚲🚲", "\u202eevil", "a" * 5000, "'; drop table--", "%", "_", "\\", "\x00"]


@pytest.fixture
def people(db):
    """Five people whose names are written in five ways."""
    names = [
        ("Zofia Łącka", "", "zofia@tarnfell.example", "+441914980001"),
        ("Ελένη Καραμήτρου", "Eleni Karamitrou", "eleni@tarnfell.example", ""),
        ("Дарія Шевчук", "Dariia Shevchuk", "daria@tarnfell.example", "+441914980003"),
        ("林 美咲", "Misaki Hayashi", "misaki@tarnfell.example", ""),
        ("Bo Ó Faoláin", "", "bo@wrenfield.example", "+4915112345678"),
    ]
    return [factories.ClientFactory(name=n, latin_name=latin, email=e, phone=p) for n, latin, e, p in names]


def found(client, typed, **extra):
    """Return the names that a search finds."""
    return [person.name for person in client.get(CLIENTS, {"q": typed}, **extra).context["page"]]


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("lacka", "Zofia Łącka"),
        ("ŁĄCKA zofia", "Zofia Łącka"),
        ("ΚΑΡΑΜΗΤΡΟΥ", "Ελένη Καραμήτρου"),
        ("karami", "Ελένη Καραμήτρου"),
        ("шевчук", "Дарія Шевчук"),
        ("美咲", "林 美咲"),
        ("hayashi", "林 美咲"),
        ("o faolain", "Bo Ó Faoláin"),
        ("BO@WRENFIELD", "Bo Ó Faoláin"),
        ("0191 498 0001", "Zofia Łącka"),
        ("+44 191 498 0001", "Zofia Łącka"),
        ("(0191) 498-0003", "Дарія Шевчук"),
        ("15112345", "Bo Ó Faoláin"),
    ],
)
def test_a_client_is_found_however_it_is_typed(typed, name, fitter_client, people):
    """Without accents and capitals, in any order of words, by Latin form, e-mail or telephone."""
    assert found(fitter_client, typed) == [name]


def test_without_a_word_everybody_is_listed_by_name(fitter_client, people):
    """An empty search is the whole list."""
    assert sorted(found(fitter_client, "")) == sorted(person.name for person in people)


def test_the_search_follows_a_change_of_name(fitter_client, people):
    """What is searched is what is stored now, also where only one column was saved."""
    person = people[0]
    person.name = "Zofia Brzęk"
    person.save(update_fields=["name"])
    assert found(fitter_client, "brzek") == ["Zofia Brzęk"]
    assert found(fitter_client, "lacka") == []


@pytest.mark.parametrize("typed", NASTY)
def test_nothing_that_is_typed_breaks_the_search(typed, fitter_client, people):
    """At worst nobody is found, or it is said what is wrong; wildcards of the database are letters like any other."""
    for extra in ({}, {"headers": HTMX}):
        page = fitter_client.get(CLIENTS, {"q": typed}, **extra)
        assert page.status_code in {200, 422}
        assert "<script>alert" not in page.content.decode()
        assert list(page.context["page"]) == []


def test_typing_brings_only_the_list(fitter_client, people):
    """The fragment that htmx asks for holds the found, and says how many in the live region."""
    html = fitter_client.get(CLIENTS, {"q": "lacka"}, headers=HTMX).content.decode()
    assert "Zofia" in html
    assert "<html" not in html
    assert 'id="found-count"' in html
    assert "1 client found" in html


@pytest.mark.parametrize("page", ["", "1", "2", "999", "-1", "x", "\x00"])
def test_a_long_list_has_pages(page, fitter_client):
    """A page that does not exist shows the nearest that does."""
    factories.ClientFactory.create_batch(30)
    assert fitter_client.get(CLIENTS, {"page": page}).status_code == 200
    assert len(fitter_client.get(CLIENTS, {"page": "2"}).context["page"]) == 5


def test_the_list_asks_the_same_however_many_there_are(fitter_client, django_assert_num_queries):
    """Session, user, number, page, studio."""
    factories.ClientFactory()
    with django_assert_num_queries(5):
        fitter_client.get(CLIENTS)
    factories.ClientFactory.create_batch(20)
    with django_assert_num_queries(5):
        fitter_client.get(CLIENTS)


def test_a_clients_page_shows_all_that_is_theirs(fitter_client, fit_session, rider_link, settings):
    """Details, bike, session, private link in full, mails."""
    settings.SITE_URL = "https://fits.wrenfield.example"
    factories.OutgoingMailFactory(client=fit_session.client, subject="You are booked")
    html = fitter_client.get(reverse("desk:client", args=[fit_session.client_id])).content.decode()
    for text in [fit_session.client.email, "Blue road bike", "Full fit", "You are booked"]:
        assert text in html
    assert f"https://fits.wrenfield.example{rider_link.get_absolute_url()}" in html
    for address in (
        reverse("review:session", args=[fit_session.pk]),
        reverse("desk_check:start", args=[fit_session.pre_visit_id]),
        reverse("desk:edit_bike", args=[fit_session.client_id, fit_session.bike_id]),
    ):
        assert address in html


def test_a_closed_link_is_not_shown(fitter_client, fit_session, rider_link):
    """What opens nothing is not offered to copy."""
    RiderLink.objects.update(revoked_at=timezone.now())
    html = fitter_client.get(reverse("desk:client", args=[fit_session.client_id])).content.decode()
    assert rider_link.token not in html
    assert "Private link: closed" in html


def test_a_clients_page_asks_the_same_however_long_the_history(fitter_client, fit_session, django_assert_num_queries):
    """Session, user, client, bikes, sessions, links, mails, attachments, studio."""
    address = reverse("desk:client", args=[fit_session.client_id])

    def one_more(days):
        later = fit_session.starts_at + timedelta(days=days)
        pre_visit = factories.PreVisitCheckFactory(bike=fit_session.bike)
        factories.FitSessionFactory(studio=fit_session.studio, pre_visit=pre_visit, starts_at=later)
        factories.RiderLinkFactory(pre_visit=pre_visit)
        factories.OutgoingMailFactory(client=fit_session.client)

    one_more(1)
    with django_assert_num_queries(9):
        fitter_client.get(address)
    one_more(2)
    one_more(3)
    with django_assert_num_queries(9):
        fitter_client.get(address)


# ── Changing details ────────────────────────────────────────────────────────


@pytest.fixture
def edit(fitter_client, fit_session):
    """Return a function that posts the client form with some of it changed."""
    person = fit_session.client
    kept = {"name": person.name, "email": person.email, "phone": "", "length_unit": "mm", "latin_name": "", "notes": ""}

    def edit(**changes):
        return fitter_client.post(reverse("desk:edit_client", args=[person.pk]), kept | changes)

    edit.person = person
    return edit


def test_details_are_changed(edit):
    """Saved, and back at the client's page."""
    answer = edit(name="  Ďuro Ľalík ", phone="0191 498 0111", length_unit="in", notes="Prefers mornings.")
    assert answer.url == reverse("desk:client", args=[edit.person.pk])
    edit.person.refresh_from_db()
    assert (edit.person.name, edit.person.length_unit) == ("Ďuro Ľalík", "in")
    assert edit.person.phone.as_e164 == "+441914980111"


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("name", ""),
        ("name", "   "),
        ("name", "x" * 201),
        ("name", "nul\x00l"),
        ("email", ""),
        ("email", "nobody"),
        ("email", "a@b\nBcc: c@d"),
        ("phone", "12"),
        ("phone", "call me"),
        ("length_unit", "furlong"),
        ("notes", "nul\x00l"),
    ],
)
def test_details_that_cannot_be_are_refused_beside_the_field(field, value, edit):
    """422, the reason at the field, what was typed still there, nothing stored."""
    answer = edit(**{field: value, "latin_name": "Typed and kept"})
    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == [field]
    assert "Typed and kept" in answer.content.decode()
    assert Client.objects.get(pk=edit.person.pk).latin_name == ""


@pytest.mark.parametrize("state", ["queued", "failed"])
def test_what_has_not_gone_yet_goes_to_the_corrected_address(state, edit, fitter_client):
    """A slip in the address is put right once, and tried again it reaches the rider."""
    waiting = factories.OutgoingMailFactory(client=edit.person, to=edit.person.email, state=state)
    gone = factories.OutgoingMailFactory(client=edit.person, to=edit.person.email, state="sent", sent_at=timezone.now())
    edit(email="right@tarnfell.example")
    fitter_client.post(reverse("desk:send_again", args=[waiting.pk]))
    assert send_waiting_mail.call() == 1
    assert [sent.to for sent in django_mail.outbox] == [["right@tarnfell.example"]]
    gone.refresh_from_db()
    assert gone.to == edit.person.email


def test_whoever_had_the_old_address_may_have_the_link(edit, rider_link, fitter_client):
    """The desk is told to make a new one; nothing is said where the address stays."""
    edit(email="right@tarnfell.example")
    address = reverse("desk:client", args=[edit.person.pk])
    assert "make new links below" in fitter_client.get(address).content.decode()
    edit(email="right@tarnfell.example", notes="Rings in the evening")
    assert "make new links below" not in fitter_client.get(address).content.decode()


@pytest.mark.parametrize("name", ["<script>alert(1)</script>", "🚲 Bo", "محمد", "X Æ A-12"])
def test_any_name_is_a_name(name, edit, fitter_client):
    """It is stored as typed and shown as text."""
    assert edit(name=name).status_code == 302
    html = fitter_client.get(reverse("desk:client", args=[edit.person.pk])).content.decode()
    assert "<script>alert" not in html
    edit.person.refresh_from_db()
    assert edit.person.name == name


def test_a_name_is_kept_as_a_riders_own_form_keeps_it(edit):
    """Otherwise the same person, booking again, would be somebody else."""
    assert edit(name="\u202e Zoe\u0308  van Dijk").status_code == 302
    edit.person.refresh_from_db()
    assert edit.person.name == "Zoë van Dijk"
    assert edit(name="🚲").status_code == 422


# ── Bikes ───────────────────────────────────────────────────────────────────


@pytest.fixture
def save_bike(fitter_client, fit_session):
    """Return a function that posts the bike form."""
    address = reverse("desk:edit_bike", args=[fit_session.client_id, fit_session.bike_id])

    def save_bike(**facts):
        return fitter_client.post(address, {"name": "Blue road bike", "kind": "road"} | facts)

    save_bike.bike = fit_session.bike
    return save_bike


def test_lengths_are_typed_in_either_unit(save_bike):
    """Millimetres, centimetres, decimals with a comma and inches arrive as millimetres; angles with any minus."""
    lengths = {
        "spacers_under_mm": "1 1/2 in",
        "crank_length_mm": "172,5",
        "stem_length_mm": "10 cm",
        "stem_angle_deg": "−6°",
    }
    assert save_bike(**lengths, head_angle_deg="73,5").status_code == 302
    bike = Bike.objects.get(pk=save_bike.bike.pk)
    assert (bike.spacers_under_mm, bike.crank_length_mm, bike.stem_length_mm) == (38.1, 172.5, 100)
    assert (bike.stem_angle_deg, bike.head_angle_deg) == (-6, 73.5)


def test_what_is_known_is_shown_and_kept(save_bike, fitter_client, fit_session):
    """Saving the page as it was changes nothing."""
    Bike.objects.update(stem_length_mm=99.5, stem_angle_deg=-17, post_kind="mast", saddle="Old leather one")
    page = fitter_client.get(reverse("desk:edit_bike", args=[fit_session.client_id, fit_session.bike_id]))
    shown = {name: page.context["form"][name].value() or "" for name in page.context["form"].fields}
    before = Bike.objects.values().get()
    assert save_bike(**shown).status_code == 302
    assert Bike.objects.values().get() == before


@pytest.mark.parametrize("field", sorted(LIMITS))
@pytest.mark.parametrize("typed", ["99999", "-99999", "nan", "inf", "1e400", "twelve", "9" * 60, "<b>1</b>", "1\x002"])
def test_a_number_that_no_bike_has_is_refused_beside_its_field(field, typed, save_bike):
    """What was typed stays, nothing is stored."""
    answer = save_bike(**{field: typed})
    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == [field]
    assert answer.context["form"][field].value() == typed
    assert getattr(Bike.objects.get(pk=save_bike.bike.pk), field) is None


def test_a_bike_is_added(fitter_client, fit_session):
    """Name and kind are enough; without them it is said what is missing."""
    address = reverse("desk:new_bike", args=[fit_session.client_id])
    assert fitter_client.post(address, {"name": "Winter bike", "kind": "gravel"}).status_code == 302
    assert fit_session.client.bikes.filter(name="Winter bike", kind="gravel").exists()
    refused = fitter_client.post(address, {"name": "", "kind": "unicycle"})
    assert refused.status_code == 422
    assert set(refused.context["form"].errors) == {"name", "kind"}


def test_a_bike_opens_only_under_its_own_client(fitter_client, fit_session):
    """A forged pair of numbers finds nothing."""
    stranger = factories.ClientFactory()
    for client_pk in (stranger.pk, 0, 10**30):
        assert fitter_client.get(reverse("desk:edit_bike", args=[client_pk, fit_session.bike_id])).status_code == 404
    assert fitter_client.get(reverse("desk:edit_bike", args=[fit_session.client_id, 10**30])).status_code == 404


def test_a_rider_who_changes_the_unit_undoes_no_new_name(fit_session):
    """The rider's page was read before the desk corrected the name: the search must find the corrected one."""
    read_before = Client.objects.get(pk=fit_session.client_id)
    person = Client.objects.get(pk=fit_session.client_id)
    person.name = "Zofia Łącka"
    person.save()
    choose_unit(client=read_before, unit="in")
    person.refresh_from_db()
    assert (person.name, person.length_unit) == ("Zofia Łącka", "in")
    assert list(found_clients("lacka")) == [person]


# ── Private links ───────────────────────────────────────────────────────────


def test_a_new_link_closes_the_old_one(fitter_client, fit_session, rider_link):
    """The old address opens nothing, the new one does, as long as one made at booking."""
    answer = fitter_client.post(reverse("desk:renew_link", args=[fit_session.pre_visit_id]))
    assert answer.url == reverse("desk:client", args=[fit_session.client_id])
    with pytest.raises(LinkClosedError):
        open_link(rider_link.token)
    new = RiderLink.objects.get(revoked_at=None)
    assert open_link(new.token) == new
    assert new.expires_at > fit_session.starts_at + timedelta(days=700)
    assert DBTaskResult.objects.count() == 0


def test_a_client_on_the_telephone_is_booked_from_their_page(fitter_client, fit_session):
    """The desk does not search for them a second time."""
    booking = f"{reverse('desk_booking:start')}?client={fit_session.client_id}"
    assert booking in fitter_client.get(reverse("desk:client", args=[fit_session.client_id])).content.decode()
    assert str(fit_session.client) in fitter_client.get(booking).content.decode()


def test_every_desk_page_says_who_is_logged_in(fitter_client, fitter_user):
    """Several people share the computer at the desk."""
    html = fitter_client.get(reverse("desk:clients")).content.decode()
    assert fitter_user.display_name in html
    assert reverse("password_change") in html


def test_a_new_link_can_be_mailed(fitter_client, fit_session, settings):
    """The rider gets the address in full, once."""
    settings.SITE_URL = "https://fits.wrenfield.example"
    fitter_client.post(reverse("desk:renew_link", args=[fit_session.pre_visit_id]), {"mail": "yes"})
    assert send_waiting_mail.call() == 1
    (sent,) = django_mail.outbox
    link = RiderLink.objects.get()
    assert f"https://fits.wrenfield.example{link.get_absolute_url()}" in sent.body
    assert sent.to == [fit_session.client.email]
    assert fit_session.studio.name in sent.subject


def test_a_link_whose_mail_cannot_be_written_is_not_renewed(fitter_client, fit_session, rider_link, monkeypatch):
    """The rider would sit before a closed link without being told of the new one."""

    def fail(**mail):
        raise ZeroDivisionError

    monkeypatch.setattr(services, "queue_mail", fail)
    with pytest.raises(ZeroDivisionError):
        fitter_client.post(reverse("desk:renew_link", args=[fit_session.pre_visit_id]), {"mail": "yes"})
    assert open_link(rider_link.token) == RiderLink.objects.get() == rider_link


def test_a_new_link_to_a_session_of_long_ago_opens(fitter_client, fit_session):
    """Whoever asks for the old sheet again gets a link that works."""
    FitSession.objects.update(starts_at=timezone.now() - timedelta(days=1500))
    fitter_client.post(reverse("desk:renew_link", args=[fit_session.pre_visit_id]))
    assert RiderLink.objects.get().is_open


def test_a_link_is_closed(fitter_client, fit_session, rider_link):
    """Closing twice is no error."""
    for _again in range(2):
        assert fitter_client.post(reverse("desk:revoke_links", args=[fit_session.pre_visit_id])).status_code == 302
    with pytest.raises(LinkClosedError):
        open_link(rider_link.token)


def test_a_check_without_a_session_has_no_link(fitter_client):
    """There would be nothing to open."""
    lone = factories.PreVisitCheckFactory()
    assert fitter_client.post(reverse("desk:renew_link", args=[lone.pk])).status_code == 404


# ── Who may, and how ────────────────────────────────────────────────────────

PAGES = ["desk:client", "desk:edit_client", "desk:new_bike"]
CHANGES = ["desk:renew_link", "desk:revoke_links"]


@pytest.mark.parametrize("name", PAGES + CHANGES)
def test_strangers_are_sent_to_the_log_in(name, client, fit_session):
    """Nothing is shown, nothing changed."""
    address = reverse(name, args=[fit_session.client_id])
    for answer in (client.get(address), client.post(address)):
        assert answer.status_code == 302
        assert answer.url.startswith(reverse("login"))


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("pk", [0, 10**6, 10**30])
def test_a_client_that_does_not_exist_is_not_found(name, pk, fitter_client):
    """However large the number."""
    assert fitter_client.get(reverse(name, args=[pk])).status_code == 404


@pytest.mark.parametrize("name", CHANGES)
def test_links_change_only_by_post(name, fitter_client, fit_session):
    """A link in a mail or a prefetch changes nothing."""
    assert fitter_client.get(reverse(name, args=[fit_session.pre_visit_id])).status_code == 405

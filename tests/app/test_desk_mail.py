"""The sent-mail page: every mail with its addresses to follow and its files to open, and trying again what failed."""

import pytest
from django.core import mail as django_mail
from django.urls import reverse
from django.utils import timezone

from intake.models import MailAttachment, OutgoingMail
from intake.services.mail import File, queue_mail
from intake.tasks import send_waiting_mail
from tests import factories

pytestmark = pytest.mark.django_db
MAIL = reverse("desk:mail")


def shown(browser, **query):
    """Return the subjects of the mails on the page."""
    return [mail.subject for mail in browser.get(MAIL, query).context["page"]]


def test_addresses_in_a_mail_can_be_followed(fitter_client, studio):
    """In the demo this page stands for every mailbox."""
    factories.OutgoingMailFactory(body="Look here:\nhttp://127.0.0.1:8000/r/abc.def/\nSee you.")
    html = fitter_client.get(MAIL).content.decode()
    assert 'href="http://127.0.0.1:8000/r/abc.def/"' in html
    assert "waiting to be sent" in html


def test_markup_in_a_mail_is_text(fitter_client, studio):
    """What a rider typed may be quoted in a mail."""
    factories.OutgoingMailFactory(body="<script>alert(1)</script>", subject="<b>bold</b>")
    html = fitter_client.get(MAIL).content.decode()
    assert "<script>alert" not in html
    assert "<b>bold</b>" not in html


def test_the_demo_says_that_nothing_leaves_the_machine(fitter_client, studio, settings):
    """A newcomer is not left in doubt; a real studio is not told so."""
    assert "no mail leaves this machine" not in fitter_client.get(MAIL).content.decode()
    settings.DEMO = True
    assert "no mail leaves this machine" in fitter_client.get(MAIL).content.decode()


def test_the_latest_mail_comes_first_and_the_list_has_pages(fitter_client, studio):
    """Twenty a page."""
    for number in range(22):
        factories.OutgoingMailFactory(subject=f"Mail {number}")
    assert shown(fitter_client)[0] == "Mail 21"
    assert shown(fitter_client, page="2") == ["Mail 1", "Mail 0"]


def test_mails_are_found_by_address_subject_state_and_client(fitter_client, studio):
    """Each narrows the list."""
    wanted = factories.OutgoingMailFactory(subject="Your fit sheet", to="zofia@tarnfell.example", state="failed")
    wanted.client = factories.ClientFactory()
    wanted.save()
    factories.OutgoingMailFactory(subject="Something else")
    for query in ({"q": "fit SHEET"}, {"q": "zofia@"}, {"state": "failed"}, {"client": wanted.client_id}):
        assert shown(fitter_client, **query) == ["Your fit sheet"]
    assert shown(fitter_client, q="fit sheet", state="sent") == []


@pytest.mark.parametrize(
    "query",
    [{"state": "lost"}, {"client": "x"}, {"client": "-1"}, {"q": "\x00"}, {"q": "x" * 5000}, {"client": "9" * 40}],
)
def test_a_search_that_cannot_be_meant_finds_nothing(query, fitter_client, studio):
    """A forged query shows no mail and no error page."""
    factories.OutgoingMailFactory()
    page = fitter_client.get(MAIL, query)
    assert page.status_code in {200, 422}
    assert list(page.context["page"]) == []


def test_the_page_asks_the_same_of_the_database_however_full(fitter_client, studio, django_assert_num_queries):
    """Session, user, counts, number, mails with clients, attachments, studio."""

    def one_more():
        mail = factories.OutgoingMailFactory(client=factories.ClientFactory())
        MailAttachment.objects.create(mail=mail, filename="a.ics", media_type="text/calendar", content=b"x")

    one_more()
    with django_assert_num_queries(7):
        fitter_client.get(MAIL)
    one_more()
    one_more()
    with django_assert_num_queries(7):
        fitter_client.get(MAIL)


@pytest.mark.parametrize(
    ("media_type", "served_as"),
    [
        ("text/calendar; method=REQUEST", "text/calendar; method=REQUEST"),
        ("application/pdf", "application/pdf"),
        ("text/html", "application/octet-stream"),
        ("image/svg+xml", "application/octet-stream"),
    ],
)
def test_a_file_is_handed_over_to_keep(media_type, served_as, fitter_client, studio):
    """As a download, and nothing that a browser would run as a page."""
    queue_mail(
        key="k", to="a@b.example", subject="s", body="b", files=[File("Sitzung „ž“.ics", media_type, b"\x00\xff")]
    )
    answer = fitter_client.get(reverse("desk:attachment", args=[MailAttachment.objects.get().pk]))
    assert answer.content == b"\x00\xff"
    assert answer["Content-Type"] == served_as
    assert answer["Content-Disposition"].startswith("attachment")
    assert answer["X-Content-Type-Options"] == "nosniff"


def test_a_mail_that_was_given_up_is_tried_again(fitter_client, studio):
    """From the page, with a press, and only such a mail."""
    failed = factories.OutgoingMailFactory(state="failed", attempts=8, last_error="mailbox full")
    assert "mailbox full" in fitter_client.get(MAIL).content.decode()
    for _again in range(2):
        answer = fitter_client.post(reverse("desk:send_again", args=[failed.pk]), follow=True)
        assert answer.status_code == 200
    assert send_waiting_mail.call() == 1
    assert len(django_mail.outbox) == 1


def test_a_mail_that_went_is_not_sent_again(fitter_client, studio):
    """A forged press does nothing."""
    sent = factories.OutgoingMailFactory(state="sent", sent_at=timezone.now())
    fitter_client.post(reverse("desk:send_again", args=[sent.pk]))
    assert OutgoingMail.objects.get().state == "sent"


@pytest.mark.parametrize(("name", "method"), [("attachment", "get"), ("send_again", "post")])
def test_strangers_are_sent_to_the_log_in(name, method, client, studio):
    """Mails hold private links: nobody but staff reads them."""
    address = reverse(f"desk:{name}", args=[1])
    assert getattr(client, method)(address).url.startswith(reverse("login"))
    assert client.get(MAIL).url.startswith(reverse("login"))


@pytest.mark.parametrize("pk", [0, 10**30])
def test_what_does_not_exist_is_not_found(pk, fitter_client, studio):
    """However large the number; and nothing is sent by following a link."""
    assert fitter_client.get(reverse("desk:attachment", args=[pk])).status_code == 404
    assert fitter_client.post(reverse("desk:send_again", args=[pk])).status_code == 404
    assert fitter_client.get(reverse("desk:send_again", args=[pk])).status_code == 405

"""What guards every page at once: the encoding of requests, uploads, the log, addresses in mails that are not the outbox's."""

import logging
import re
from io import StringIO

import pytest
from django.urls import reverse
from django.utils import timezone

from intake.models import Client, RiderLink
from tests import factories

pytestmark = pytest.mark.django_db

# The first two make of plain letters what no database stores; the others hide from who reads the request what it says.
ODD_ENCODINGS = ["unicode_escape", "raw_unicode_escape", "utf-7", "utf-16"]


def multipart(encoding, **fields):
    """A body and its type, as a browser would never send them."""
    parts = [f'--b\r\nContent-Disposition: form-data; name="{k}"\r\n\r\n{v}\r\n' for k, v in fields.items()]
    return f"{''.join(parts)}--b--\r\n".encode(), f"multipart/form-data; boundary=b; charset={encoding}"


@pytest.mark.parametrize("encoding", ODD_ENCODINGS)
def test_text_in_another_encoding_is_not_read(encoding, fitter_client, fit_session):
    """Neither an address nor a form can smuggle in what UTF-8 cannot say."""
    person = fit_session.client
    asked = fitter_client.get(
        reverse("desk:clients") + "?q=%5Cud800", headers={"content-type": f"text/plain; charset={encoding}"}
    )
    body, kind = multipart(encoding, name="A\\ud800", email=person.email, length_unit="mm")
    sent = fitter_client.generic("POST", reverse("desk:edit_client", args=[person.pk]), body, content_type=kind)
    assert [asked.status_code, sent.status_code] == [400, 400]
    assert "could not be read" in sent.content.decode()
    assert Client.objects.get().name == person.name


@pytest.mark.parametrize("encoding", ["utf-8", "UTF8"])
def test_the_usual_encoding_may_be_named(encoding, fitter_client, fit_session):
    """Some browsers say it, by either of its names."""
    body, kind = multipart(encoding, name="Žofia Čierna", email="z@tarnfell.example", length_unit="mm")
    fitter_client.generic("POST", reverse("desk:edit_client", args=[fit_session.client_id]), body, content_type=kind)
    assert Client.objects.get().name == "Žofia Čierna"


def test_an_upload_that_nobody_asked_for_is_refused(fitter_client, fit_session):
    """No page takes a file: what is sent all the same fills neither memory nor disk."""
    start = b'--b\r\nContent-Disposition: form-data; name="f"; filename="big.bin"\r\n\r\n'
    address, kind = reverse("desk:edit_client", args=[fit_session.client_id]), "multipart/form-data; boundary=b"
    answer = fitter_client.generic("POST", address, start + b"0" * 3_000_000 + b"\r\n--b--\r\n", content_type=kind)
    assert answer.status_code == 400
    assert "could not be read" in answer.content.decode()


@pytest.fixture
def written_log(monkeypatch):
    """What the product's own handler writes."""
    (console,) = (each for each in logging.getLogger().handlers if type(each) is logging.StreamHandler)
    monkeypatch.setattr(console, "stream", StringIO())
    return console.stream


def test_the_log_names_no_private_link(client, rider_link, written_log):
    """Whoever reads the log, or is shown a line of it, could otherwise open a rider's pages."""
    client.post(reverse("check:question", args=[rider_link.token, "crash"]), {"crash-option": "none of these"})
    RiderLink.objects.update(revoked_at=timezone.now())
    client.get(reverse("rider:home", args=[rider_link.token]))
    logged = written_log.getvalue()
    assert rider_link.token not in logged
    assert "Unprocessable Entity: /r/…/check/question/crash/" in logged
    assert "Gone: /r/…/" in logged


def test_a_link_to_a_new_password_leads_to_the_studio(client, settings, mailoutbox):
    """The address comes from the settings, not from whatever host the request claims to have asked."""
    settings.ALLOWED_HOSTS = ["*"]
    settings.SITE_URL = "https://fits.wrenfield.example"
    factories.UserFactory(email="marit@wrenfield.example")
    client.post(
        reverse("password_reset"), {"email": "marit@wrenfield.example"}, headers={"host": "evil.tarnfell.example"}
    )
    (mail,) = mailoutbox
    assert "evil" not in mail.body
    (address,) = re.findall(r"https?://\S+", mail.body)
    assert address.startswith("https://fits.wrenfield.example/accounts/reset/")
    page = client.get(address.removeprefix("https://fits.wrenfield.example"), follow=True)
    assert page.context["validlink"]

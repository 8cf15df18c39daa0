"""The outbox: nothing is sent for what was rolled back, nothing twice, nothing is lost, and a failure is kept and tried again."""

from datetime import timedelta
from threading import Barrier, Thread

import pytest
import time_machine
from django.core import mail as django_mail
from django.core.mail.backends.locmem import EmailBackend
from django.db import connection, transaction
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from fitstudio.upkeep import ABANDONED_AFTER, enqueue_due_mail, requeue_abandoned_tasks, sweep
from intake.models import MailAttachment, OutgoingMail
from intake.services.mail import CLAIM_LASTS, MOST_ATTEMPTS, File, queue_mail, send_one, waiting_mail
from intake.tasks import send_waiting_mail
from tests import factories

MAIL = {"key": "booked:1", "to": "rider@tarnfell.example", "subject": "Your session", "body": "See you soon."}


class RefusingBackend(EmailBackend):
    """A mail server that is down."""

    def send_messages(self, messages):
        raise ConnectionRefusedError("the mail server is down")


@pytest.fixture
def server_down(settings):
    """Every mail is refused until the test names another backend."""
    settings.EMAIL_BACKEND = f"{__name__}.{RefusingBackend.__name__}"


@pytest.mark.django_db(transaction=True)
def test_what_is_rolled_back_is_never_sent():
    """Mail, attachment and task belong to the change that caused them."""

    def write(*, and_fail):
        with transaction.atomic():
            queue_mail(**MAIL, files=[File("session.ics", "text/calendar", b"BEGIN:VCALENDAR")])
            if and_fail:
                raise ZeroDivisionError

    def rows():
        return [model.objects.count() for model in (OutgoingMail, MailAttachment, DBTaskResult)]

    with pytest.raises(ZeroDivisionError):
        write(and_fail=True)
    assert rows() == [0, 0, 0]
    write(and_fail=False)
    assert rows() == [1, 1, 1]


@pytest.mark.django_db
def test_an_occasion_is_written_once():
    """The same key twice leaves the first mail as it was, with one task and one attachment."""
    first = queue_mail(**MAIL, files=[File("session.ics", "text/calendar", b"first")])
    second = queue_mail(**MAIL | {"body": "Another text"}, files=[File("session.ics", "text/calendar", b"second")])
    assert second == first
    assert OutgoingMail.objects.get().body == "See you soon."
    assert bytes(MailAttachment.objects.get().content) == b"first"
    assert DBTaskResult.objects.count() == 1


@pytest.mark.django_db
def test_a_mail_goes_with_its_attachment():
    """What was queued is what arrives, whatever alphabet it is in."""
    text = MAIL | {"subject": "Γεια σου, Ελένη – 你好", "body": "Ďakujeme. Дякуємо."}
    queued = queue_mail(**text, files=[File("fit sheet ž.pdf", "application/pdf", b"%PDF-1.4 \x00\xff")])
    assert send_waiting_mail.call() == 1
    (arrived,) = django_mail.outbox
    assert (arrived.subject, arrived.body, arrived.to) == (text["subject"], text["body"], [text["to"]])
    assert arrived.attachments == [("fit sheet ž.pdf", b"%PDF-1.4 \x00\xff", "application/pdf")]
    queued.refresh_from_db()
    assert (queued.state, queued.attempts, queued.last_error) == ("sent", 1, "")
    assert queued.sent_at is not None


@pytest.mark.django_db
def test_draining_again_sends_nothing_again():
    """A task may run twice unharmed."""
    queue_mail(**MAIL)
    assert [send_waiting_mail.call(), send_waiting_mail.call()] == [1, 0]
    assert len(django_mail.outbox) == 1


@pytest.mark.django_db
def test_a_newline_in_a_subject_cannot_add_a_header():
    """What a rider typed may end up in a subject; it must stay there."""
    queue_mail(**MAIL | {"subject": "Hello\r\nBcc: everybody@tarnfell.example\nX: y"})
    assert send_waiting_mail.call() == 1
    message = django_mail.outbox[0].message()
    assert message["Bcc"] is None
    assert message["Subject"] == "Hello Bcc: everybody@tarnfell.example X: y"


@pytest.mark.django_db
def test_a_newline_in_an_address_sends_to_nobody():
    """Django refuses the header; the mail stays in the outbox with the reason, and the others go."""
    forged = queue_mail(**MAIL | {"key": "forged", "to": "a@tarnfell.example\nBcc: b@tarnfell.example"})
    queue_mail(**MAIL)
    assert send_waiting_mail.call() == 1
    forged.refresh_from_db()
    assert forged.state == "queued"
    assert "newlines" in forged.last_error
    assert [sent.to for sent in django_mail.outbox] == [[MAIL["to"]]]


@pytest.mark.django_db
def test_a_refused_mail_is_kept_and_tried_again(server_down, settings):
    """The reason is kept; it becomes due again after a pause and goes when the server is back."""
    queued = queue_mail(**MAIL)
    assert send_waiting_mail.call() == 0
    queued.refresh_from_db()
    assert (queued.state, queued.attempts, queued.last_error) == ("queued", 1, "the mail server is down")
    assert waiting_mail() == []
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    with time_machine.travel(timezone.now() + timedelta(minutes=3)):
        assert waiting_mail() == [queued.pk]
        assert send_waiting_mail.call() == 1
    queued.refresh_from_db()
    assert (queued.state, queued.attempts, queued.last_error) == ("sent", 2, "")


@pytest.mark.django_db
def test_a_mail_that_never_goes_is_given_up_with_its_reason(server_down):
    """After several attempts, each after a longer pause, it stands as failed for the desk to see."""
    queued = queue_mail(**MAIL)
    pauses, now = [], timezone.now()
    for _attempt in range(MOST_ATTEMPTS):
        with time_machine.travel(now, tick=False):
            assert send_waiting_mail.call() == 0
            queued.refresh_from_db()
            pauses.append(queued.send_after - now)
            now = queued.send_after
    assert pauses == sorted(pauses)
    assert pauses[0] < pauses[-1]
    assert (queued.state, queued.attempts) == ("failed", MOST_ATTEMPTS)
    assert queued.last_error == "the mail server is down"
    with time_machine.travel(now + timedelta(days=30)):
        assert waiting_mail() == []


@pytest.mark.django_db
@pytest.mark.parametrize("state", ["failed", "dropped"])
def test_a_mail_that_is_no_longer_wanted_is_not_sent(state):
    """A mail that was withdrawn after a drainer read the list stays unsent."""
    queued = queue_mail(**MAIL)
    OutgoingMail.objects.update(state=state)
    assert send_one(queued.pk) is False
    assert django_mail.outbox == []


@pytest.mark.django_db
def test_a_mail_is_not_sent_before_its_time():
    """A reminder waits for its day, and the sweep wakes up for it."""
    queue_mail(**MAIL, send_after=timezone.now() + timedelta(days=2))
    assert send_waiting_mail.call() == 0
    with time_machine.travel(timezone.now() + timedelta(days=2, minutes=1)):
        assert send_waiting_mail.call() == 1


@pytest.mark.django_db(transaction=True)
def test_two_drainers_send_a_mail_once():
    """Both have read that it waits; the claim lets one of them send it. With real connections and real threads."""
    ids = [factories.OutgoingMailFactory().pk for _ in range(5)]
    together, results = Barrier(4), []

    def drain():
        together.wait(timeout=20)
        results.extend(send_one(mail_id) for mail_id in ids)
        connection.close()

    threads = [Thread(target=drain) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert len(results) == 20
    assert sum(results) == len(django_mail.outbox) == 5
    assert set(OutgoingMail.objects.values_list("state", "attempts")) == {("sent", 1)}


@pytest.mark.django_db
def test_what_a_dead_worker_had_claimed_is_sent_after_the_claim_has_lapsed():
    """A crash between claim and sending delays a mail, it does not lose it."""
    queued = queue_mail(**MAIL)
    OutgoingMail.objects.update(attempts=1, send_after=timezone.now() + CLAIM_LASTS)
    assert send_waiting_mail.call() == 0
    with time_machine.travel(timezone.now() + CLAIM_LASTS + timedelta(seconds=1)):
        assert send_waiting_mail.call() == 1
    queued.refresh_from_db()
    assert queued.state == "sent"


@pytest.mark.django_db
def test_the_sweep_adds_a_task_only_where_due_mail_has_none():
    """A mail that became due again has no task of its own any more."""
    assert enqueue_due_mail() is False
    factories.OutgoingMailFactory()
    assert enqueue_due_mail() is True
    assert enqueue_due_mail() is False
    assert DBTaskResult.objects.count() == 1


@pytest.mark.django_db
def test_the_sweep_offers_the_tasks_of_a_dead_worker_again():
    """A task that has run for longer than any of ours runs belongs to a worker that is gone; a young one is left alone."""
    old, young = send_waiting_mail.enqueue(), send_waiting_mail.enqueue()
    started = timezone.now()
    DBTaskResult.objects.filter(pk=old.id).update(status="RUNNING", started_at=started - ABANDONED_AFTER * 2)
    DBTaskResult.objects.filter(pk=young.id).update(status="RUNNING", started_at=started)
    assert requeue_abandoned_tasks() == 1
    sweep()
    states = dict(DBTaskResult.objects.values_list("pk", "status"))
    assert {str(pk): state for pk, state in states.items()} == {str(old.id): "READY", str(young.id): "RUNNING"}


def test_an_answer_goes_to_the_studio(fit_session, mailoutbox):
    """A rider who answers a mail reaches the studio that wrote it."""
    mail = queue_mail(
        key="reply", to="r@tarnfell.example", reply_to="desk@wrenfield.example", subject="Hello", body="x"
    )
    assert send_one(mail.pk)
    assert mailoutbox[0].reply_to == ["desk@wrenfield.example"]

"""The mails: what waits in the outbox is sent by the real task, and read as a rider's mailbox and calendar read it."""

import re

from django.core import mail
from icalendar import Calendar

from intake.tasks import send_waiting_mail
from tests.browser.main_job import story


def delivered():
    """Send what waits; return the mails, all of them to the rider."""
    mail.outbox.clear()
    sent = send_waiting_mail.call()
    assert sent == len(mail.outbox)
    assert all(each.to == [story.EMAIL] for each in mail.outbox)
    return list(mail.outbox)


def address_in(letter, ending="/"):
    """The private address that stands in a mail."""
    return re.search(rf"^http://\S+/r/[^/\s]+{ending}$", letter.body, re.MULTILINE)[0]


def event_in(letter):
    """The one event of the calendar file that comes with a mail."""
    [attached] = letter.attachments
    [event] = Calendar.from_ical(attached.content).walk("VEVENT")
    return event

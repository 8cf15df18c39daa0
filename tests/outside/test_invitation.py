"""The calendar file against RFC 5545 (iCalendar) and RFC 5546 (iTIP), and as the icalendar library reads it.

Sources: RFC 5545 section 3.1 (content lines, folding, with its own example), section 3.2 (parameter values), section 3.3.5
(UTC form of DATE-TIME), section 3.3.11 (TEXT escapes), section 3.6 (required calendar properties) and section 3.6.1 (properties
of an event), read at icalendar.org. RFC 5546 sections 3.2.1, 3.2.2 and 3.2.5 (PUBLISH, REQUEST, CANCEL) and RFC 6047 section 2.4
(the method in the media type) are from memory.
"""

import email
import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.core import mail as django_mail
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar

from intake.models import OutgoingMail
from intake.services.mail import send_one
from sessions.services.booking.invitations import Invitation, Method, calendar_file
from tests.booking import NOW, START, book_one

INVITATION = Invitation(
    uid="0b7c5a52-5f5e-4a53-9b61-6c1a2a9a0c11@sessions.fitstudio",
    sequence=3,
    stamped_at=datetime(2026, 3, 2, 8, 0, 30, 5, tzinfo=UTC),
    starts_at=datetime(2026, 3, 30, 9, 0, tzinfo=ZoneInfo("Europe/London")),
    ends_at=datetime(2026, 3, 30, 11, 0, tzinfo=ZoneInfo("Europe/London")),
    summary="Full fit; saddle, bars\\cleats",
    description="Bike: Ποδήλατο\nTo move or cancel, tell the studio.",
    location="Wrenfield Cycle Fitting, 1 Millrace Yard, Wrenfield",
    studio="Wrenfield Cycle Fitting",
    studio_email="studio@wrenfield.example",
    rider='Zoë "Zo" Łącka; née 李',
    rider_email="zoe@tarnfell.example",
)

# RFC 5545 section 3.1: contentline = name *(";" param ) ":" value; section 3.2: a quoted value holds no DQUOTE and no control.
NAME = r"[A-Za-z0-9-]+"
QUOTED = r'"[^\x00-\x08\x0a-\x1f\x7f"]*"'
SAFE = r'[^\x00-\x08\x0a-\x1f\x7f";:,]*'
CONTENT_LINE = re.compile(
    rf"({NAME})((?:;{NAME}=(?:{QUOTED}|{SAFE})(?:,(?:{QUOTED}|{SAFE}))*)*):([^\x00-\x08\x0a-\x1f\x7f]*)"
)
# RFC 5545 section 3.3.11: a backslash stands only before a backslash, a semicolon, a comma or an n; those two stand only so.
TEXT = re.compile(r"(?:\\[\\;,nN]|[^\\;,])*")
TEXT_PROPERTIES = {"SUMMARY", "DESCRIPTION", "LOCATION", "UID"}
UTC_FORM = re.compile(r"\d{8}T\d{6}Z")
# RFC 5545 section 3.6.1: these MUST NOT occur more than once in an event.
ONCE = {
    "DTSTAMP",
    "UID",
    "DTSTART",
    "DTEND",
    "SUMMARY",
    "DESCRIPTION",
    "LOCATION",
    "ORGANIZER",
    "SEQUENCE",
    "STATUS",
    "TRANSP",
}

texts = st.text(st.characters(codec="utf-8"), max_size=200)


def unfolded(content):
    """The content lines of a file, by the letter of section 3.1: a CRLF before a space or tab is taken out."""
    assert content.endswith(b"\r\n")
    return re.sub(rb"\r\n[ \t]", b"", content)[:-2].decode("utf-8").split("\r\n")


def parsed(content):
    """Name, parameters and value of each content line."""
    matches = [CONTENT_LINE.fullmatch(line) for line in unfolded(content)]
    assert all(matches)
    return [match.groups() for match in matches]


def event_names(content):
    """The names of the event's properties, as often as they stand there."""
    names = [name for name, _parameters, _value in parsed(content)]
    assert (names[0], names[-1]) == ("BEGIN", "END")
    return names[names.index("BEGIN", 1) + 1 : names.index("END")]


def test_the_unfolding_is_that_of_the_rfc():
    """RFC 5545 section 3.1 gives this line, folded, as an example."""
    folded = b"DESCRIPTION:This is a lo\r\n ng description\r\n  that exists on a long line.\r\n"
    assert unfolded(folded) == ["DESCRIPTION:This is a long description that exists on a long line."]


@pytest.mark.parametrize("method", list(Method))
class TestEveryMethod:
    """What holds for each of our files."""

    def test_lines(self, method):
        """CRLF alone ends a line; none is longer than 75 octets without it, and none breaks a character."""
        content = calendar_file(INVITATION, method)
        assert not re.search(rb"[^\r]\n|\r[^\n]", content)
        for line in content.split(b"\r\n"):
            assert len(line) <= 75
            line.decode("utf-8")

    def test_grammar(self, method):
        """Every line is a content line, every text is escaped as section 3.3.11 says."""
        for name, _parameters, value in parsed(calendar_file(INVITATION, method)):
            if name in TEXT_PROPERTIES:
                assert TEXT.fullmatch(value)

    def test_calendar_properties(self, method):
        """PRODID and VERSION 2.0 once each (section 3.6), the method once, and one event."""
        lines = parsed(calendar_file(INVITATION, method))
        values = {name: value for name, _parameters, value in lines}
        names = [name for name, _parameters, _value in lines]
        assert [names.count(name) for name in ("PRODID", "VERSION", "METHOD")] == [1, 1, 1]
        assert (values["VERSION"], values["METHOD"]) == ("2.0", method.value)
        assert [value for name, _parameters, value in lines if name == "BEGIN"] == ["VCALENDAR", "VEVENT"]

    def test_event_properties(self, method):
        """UID and DTSTAMP are required, no property stands twice that must not, and the end is DTEND, never DURATION too."""
        names = event_names(calendar_file(INVITATION, method))
        assert all(names.count(name) == 1 for name in ONCE)
        assert "DURATION" not in names

    def test_times_are_utc(self, method):
        """Nine o'clock British Summer Time is 08:00 UTC; whole seconds, in the form of section 3.3.5 that needs no VTIMEZONE."""
        values = {name: value for name, _parameters, value in parsed(calendar_file(INVITATION, method))}
        assert (values["DTSTART"], values["DTEND"]) == ("20260330T080000Z", "20260330T100000Z")
        assert UTC_FORM.fullmatch(values["DTSTAMP"])

    def test_whom_it_names(self, method):
        """RFC 5546: an organizer always; an invitation and a cancellation name the attendee, a published event must not."""
        names = event_names(calendar_file(INVITATION, method))
        assert names.count("ORGANIZER") == 1
        assert names.count("ATTENDEE") == (0 if method is Method.PUBLISH else 1)
        assert names.count("SEQUENCE") == 1

    def test_the_library_reads_it(self, method):
        """icalendar gives back what was put in."""
        calendar = Calendar.from_ical(calendar_file(INVITATION, method))
        event = calendar.events[0]
        assert not event.errors
        assert (event["SUMMARY"], event["LOCATION"]) == (INVITATION.summary, INVITATION.location)
        assert event["DESCRIPTION"] == INVITATION.description
        assert (event.start, event.end) == (INVITATION.starts_at, INVITATION.ends_at)
        assert (event["UID"], event["SEQUENCE"]) == (INVITATION.uid, 3)
        assert event["ORGANIZER"] == "mailto:studio@wrenfield.example"


def test_a_cancellation_says_so():
    """STATUS CANCELLED (RFC 5546 section 3.2.5)."""
    content = calendar_file(replace(INVITATION, is_cancelled=True), Method.CANCEL)
    assert ("STATUS", "", "CANCELLED") in parsed(content)


@given(texts, texts, texts, texts)
def test_whatever_people_are_called(rider, summary, location, description):
    """No name or text makes a line that is too long or against the grammar, and the library reads the same text back."""
    given_texts = replace(INVITATION, rider=rider, summary=summary, location=location, description=description)
    content = calendar_file(given_texts, Method.REQUEST)
    assert max(len(line) for line in content.split(b"\r\n")) <= 75
    names = [name for name, _parameters, _value in parsed(content)]
    assert names.count("ATTENDEE") == names.count("SUMMARY") == 1
    event = Calendar.from_ical(content).events[0]
    assert event["ATTENDEE"] == "mailto:zoe@tarnfell.example"
    assert "".join(event["SUMMARY"].split()) == "".join(re.sub(r"[\x00-\x08\x0b-\x1f\x7f]", "", summary).split())


@pytest.mark.django_db
class TestInTheMail:
    """What reaches a mailbox."""

    @pytest.fixture
    def message(self, studio):
        """The confirmation of a booking, with the line ends of SMTP."""
        with time_machine.travel(NOW, tick=False):
            self.booking = book_one(studio.services.get())
            assert send_one(OutgoingMail.objects.get().pk)
        return email.message_from_bytes(django_mail.outbox[0].message().as_bytes(linesep="\r\n"))

    def test_the_media_type_names_the_method(self, message):
        """RFC 6047 section 2.4: text/calendar with the same method as in the file, in UTF-8."""
        part = message.get_payload()[1]
        assert part.get_content_type() == "text/calendar"
        assert part.get_param("method") == "REQUEST"
        assert part.get_content_charset() == "utf-8"

    def test_the_file_arrives_whole(self, message):
        """Mail transport changes no byte, and no private address stands in what a calendar may share."""
        arrived = message.get_payload()[1].get_payload(decode=True)
        assert arrived == bytes(OutgoingMail.objects.get().attachments.get().content)
        assert self.booking.link.token.encode() not in arrived
        event = Calendar.from_ical(arrived).events[0]
        assert (event.start, event.end) == (START, START + timedelta(hours=2))

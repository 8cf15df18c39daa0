"""Handing the check in: what to do before the session, on the page and by mail, once for each content."""

from datetime import timedelta

import pytest
from django.conf import settings
from django.core import mail
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format

from intake.catalogue.loader import load_catalogue
from intake.models import FindingDecision, OutgoingMail
from intake.services.answers import Given, save_answer
from intake.services.discomfort import Felt, save_discomfort
from intake.services.mail import send_one, waiting_mail
from intake.services.submission import submit
from intake.slots import slot_of
from intake.triage.deadlines import fix_by
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def pre_visit(rider_link):
    """The check of the booked session."""
    return rider_link.pre_visit


@pytest.fixture
def page(client, rider_link):
    """Read the advice page."""
    address = reverse("check:advice", args=[rider_link.token])

    def read():
        return client.get(address).content.decode()

    return read


def answer(pre_visit, **options):
    """Store answers, check by check."""
    for key, option in options.items():
        check = load_catalogue().check(key)
        save_answer(pre_visit=pre_visit, session_slot=slot_of(pre_visit.pk), check=check, given=Given(option))


def hand_in(pre_visit, note=""):
    """Hand the check in."""
    return submit(pre_visit=pre_visit, session_slot=slot_of(pre_visit.pk), note=note)


def mails():
    """The advice mails, oldest first."""
    return list(OutgoingMail.objects.filter(key__startswith="advice:").order_by("pk"))


def finish_url(link):
    """The address of the last page."""
    return reverse("check:finish", args=[link.token])


def test_handing_in_stores_the_moment_and_the_words_and_shows_the_advice(client, rider_link, pre_visit):
    """The rider's own words are kept, the advice follows, and the summary is there for the desk's list."""
    answer(pre_visit, post_slides="stuck")
    response = client.post(finish_url(rider_link), {"note": "I ride on Sundays."}, follow=True)
    pre_visit.refresh_from_db()
    assert pre_visit.note == "I ride on Sundays."
    assert timezone.now() - pre_visit.submitted_at < timedelta(minutes=1)
    assert "Thank you" in response.content.decode()
    assert "A workshop frees the stuck post" in response.content.decode()
    assert pre_visit.summary.verdict == "fix_first"


def test_the_fix_by_on_page_and_mail_is_the_cores_own(page, pre_visit):
    """The day is counted back from the slot in the studio's working days by the remedy's lead time."""
    answer(pre_visit, post_slides="stuck")
    hand_in(pre_visit)
    slot = slot_of(pre_visit.pk).slot
    remedy = load_catalogue().remedies["workshop_frees_post"]
    by = fix_by(slot.starts_on, remedy.lead_days, slot.working_days)
    assert f'datetime="{by.isoformat()}"' in page()
    assert f"Start by {date_format(by, 'l j F')}" in mails()[0].body


def test_the_mail_says_what_the_page_says(page, pre_visit):
    """Tasks, ways, parcels, open questions and cautions are the same in both."""
    answer(
        pre_visit,
        post_slides="stuck",
        cleat_wear="past_marker",
        crash="crack",
        bring="no_shoes",
        front_bolts="could_not",
    )
    save_discomfort(
        pre_visit=pre_visit, session_slot=slot_of(pre_visit.pk), area="knee_front", side="left", felt=Felt(5, 40)
    )
    hand_in(pre_visit)
    body, shown = mails()[0].body, page()
    for words in (
        "Seatpost stuck in the frame",
        "Cleats worn past their marker",
        "Take it to the workshop without riding it.",
        "The cycling shoes you ride in most",
        "Knee, front, left",
        "not a diagnosis",
        "Rear axle",
        "Bolts of stem and bar",
        "estimates from common practice",
        "until a qualified mechanic has inspected it",
        "with a torque tool",
    ):
        assert words in shown
        assert words in body
    assert "Do not ride this bike" in shown
    assert "DO NOT RIDE THIS BIKE" in body


def test_red_flags_come_first(page, pre_visit):
    """What belongs with a clinician stands before everything about the bike, and stops the session for the desk."""
    answer(pre_visit, post_slides="stuck", crash="crack", red_flags_emergency="chest")
    hand_in(pre_visit)
    body, shown = mails()[0].body, page()
    assert body.index("GET HELP NOW") < body.index("DO NOT RIDE") < body.index("PUT RIGHT BEFORE")
    assert shown.index("Get help now") < shown.index("Do not ride this bike") < shown.index("Put right before")
    assert pre_visit.summary.stopped


def test_several_ways_are_a_choice(page, pre_visit):
    """Nobody goes to a workshop after having done it themselves."""
    answer(pre_visit, post_slides="stiff")
    hand_in(pre_visit)
    assert "One of these is enough" in page()
    assert "One of these is enough:\n   - Yourself:" in mails()[0].body


def test_severe_pain_is_in_page_and_mail(page, pre_visit):
    """Eight of ten is answered with the plain advice."""
    save_discomfort(pre_visit=pre_visit, session_slot=slot_of(pre_visit.pk), area="neck", side="", felt=Felt(8))
    hand_in(pre_visit)
    assert "Pain this strong" in page()
    assert "Pain as strong as you marked" in mails()[0].body


def test_a_sound_bike_is_told_so(page, pre_visit):
    """Where nothing stands in the way the rider reads exactly that, and that the bike is ready only once all is looked at."""
    answer(pre_visit, post_slides="slides", gears="fine")
    hand_in(pre_visit)
    assert "Nothing to put right" in page()
    assert "So far there is nothing to put right" in mails()[0].body
    assert "the bike is ready" not in page() + mails()[0].body
    sound = {
        check.key: next(each.key for each in check.options if not each.faults) for check in load_catalogue().checks
    }
    answer(pre_visit, **sound)
    hand_in(pre_visit)
    assert "the bike is ready" in page()
    assert "There is nothing to put right" in mails()[-1].body


def test_what_comes_too_late_says_so(client, studio, rider_link):
    """The day before the slot a week's work cannot be done any more: the rider is sent to the studio."""
    pre_visit = rider_link.pre_visit
    fit_session = pre_visit.fit_session
    fit_session.starts_at = timezone.now() + timedelta(hours=20)
    fit_session.ends_at = fit_session.starts_at + timedelta(hours=2)
    fit_session.save()
    answer(pre_visit, post_slides="stuck")
    shown = client.get(reverse("check:advice", args=[rider_link.token])).content.decode()
    assert "not enough time left" in shown
    assert "too late for this session" in shown
    assert studio.email in shown


def test_the_advice_page_works_before_anything_is_handed_in(page, pre_visit):
    """It shows what the answers say so far and that the check is still with the rider."""
    answer(pre_visit, post_slides="stuck")
    assert "Not handed in yet" in page()
    assert "Seatpost stuck" in page()
    assert mails() == []


def test_open_questions_are_linked(page, rider_link, pre_visit):
    """What is not known yet leads back to its question."""
    answer(pre_visit, post_slides="slides")
    assert reverse("check:question", args=[rider_link.token, "gears"]) in page()
    assert reverse("check:question", args=[rider_link.token, "post_slides"]) not in page()


def test_the_same_advice_is_mailed_once(pre_visit):
    """Handing in again without a change sends nothing more, whatever the rider writes beside it."""
    answer(pre_visit, post_slides="stuck")
    hand_in(pre_visit)
    hand_in(pre_visit)
    hand_in(pre_visit, note="one more thing")
    assert len(mails()) == 1
    for mail_id in waiting_mail():
        send_one(mail_id)
    assert len(mail.outbox) == 1
    assert mail.outbox[0].to == [pre_visit.client.email]


def test_changed_advice_is_mailed_again_and_back_again(pre_visit):
    """The last mail always holds the present advice: there, changed, and back make three."""
    for option in ("stuck", "slides", "stuck", "stuck"):
        answer(pre_visit, post_slides=option)
        hand_in(pre_visit)
    bodies = [each.body for each in mails()]
    assert len(bodies) == 3
    assert bodies[0] == bodies[2] != bodies[1]
    assert len({each.key for each in mails()}) == 3


def test_a_fitters_decision_changes_what_the_rider_is_told(page, pre_visit):
    """What the studio has ruled not to be a fault is no longer asked of the rider."""
    answer(pre_visit, post_slides="stuck")
    FindingDecision.objects.create(pre_visit=pre_visit, finding_key="post_slides.stuck", ruling="not_a_fault")
    assert "A workshop frees the stuck post" not in page()


def test_the_mail_leads_to_the_page_by_the_newest_open_link(rider_link, pre_visit):
    """The address is whole and opens; a revoked link is not sent out."""
    answer(pre_visit, gears="fine")
    factories.RiderLinkFactory(pre_visit=pre_visit, revoked_at=timezone.now())
    hand_in(pre_visit)
    address = settings.SITE_URL + reverse("check:advice", args=[rider_link.token])
    assert address in mails()[0].body


def test_without_an_open_link_the_mail_goes_without_one(rider_link, pre_visit):
    """The desk may hand in for a rider whose link is closed."""
    rider_link.revoked_at = timezone.now()
    rider_link.save()
    answer(pre_visit, gears="fine")
    hand_in(pre_visit)
    assert "http" not in mails()[0].body


def test_a_name_in_any_script_reaches_the_mail_as_it_is(pre_visit):
    """Nothing is escaped in a plain text mail."""
    pre_visit.client.name = "Zoë O’Tarn & 山田"
    pre_visit.client.save()
    answer(pre_visit, gears="fine")
    hand_in(pre_visit)
    assert "Dear Zoë O’Tarn & 山田," in mails()[0].body


def test_an_empty_check_is_not_handed_in(client, rider_link, pre_visit):
    """Without one answer there is nothing to judge; the words typed are kept on the page."""
    response = client.post(finish_url(rider_link), {"note": "do your best"})
    assert response.status_code == 422
    assert "Answer at least one question first" in response.content.decode()
    assert "do your best" in response.content.decode()
    pre_visit.refresh_from_db()
    assert pre_visit.submitted_at is None
    assert mails() == []


@pytest.mark.parametrize("note", ["x" * 4001, "null \x00 byte"])
def test_words_that_cannot_be_stored_are_refused_beside_the_field(client, rider_link, pre_visit, note):
    """Nothing is handed in until the text fits."""
    answer(pre_visit, gears="fine")
    response = client.post(finish_url(rider_link), {"note": note})
    assert response.status_code == 422
    assert "id_note_error" in response.content.decode()
    assert mails() == []


def test_nothing_is_handed_in_after_the_slot_has_begun(client, rider_link, pre_visit):
    """Then the fitter has the bike in hand."""
    answer(pre_visit, gears="fine")
    fit_session = pre_visit.fit_session
    fit_session.starts_at, fit_session.ends_at = timezone.now() - timedelta(minutes=1), timezone.now()
    fit_session.save()
    assert client.post(finish_url(rider_link), {"note": ""}).status_code == 409
    assert mails() == []
    assert client.get(finish_url(rider_link)).status_code == 200


def test_a_failing_submission_leaves_nothing_behind(pre_visit, monkeypatch):
    """Mail, moment and summary are one transaction."""
    answer(pre_visit, gears="fine")

    def broken(**kwargs):
        raise RuntimeError

    monkeypatch.setattr("intake.services.submission.queue_mail", broken)
    with pytest.raises(RuntimeError):
        hand_in(pre_visit, note="lost")
    pre_visit.refresh_from_db()
    assert pre_visit.submitted_at is None
    assert pre_visit.note == ""

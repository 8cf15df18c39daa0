"""The triage page of one session: what the core says, in words, with everything a decision needs."""

import re
from datetime import UTC, datetime, timedelta
from html import unescape

import pytest
import time_machine
from django.test import Client as Browser
from django.urls import reverse

from intake.models import CheckAnswer, FindingDecision, PreVisitCheck
from intake.services.discomfort import Felt, save_discomfort, say_nothing_hurts
from intake.slots import slot_of
from intake.triage.answers import Ruling
from intake.triage.phrases import percent
from sessions.models import FitSession, SlotDecision, StateChange
from sessions.selectors.review.page import review_page, reviewed_sessions
from sessions.services.review.decisions import rule_on_finding
from tests import factories
from tests.reviewing import all_answered, answered

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def clock():
    """Monday morning, 2 March 2026."""
    with time_machine.travel(NOW):
        yield


@pytest.fixture
def troubled(fit_session, rider_link):
    """A stuck post, cleats past their marker, one side of the saddle perhaps sunk, and a sore left knee."""
    all_answered(fit_session, post_slides="stuck", cleat_wear="past_marker", saddle_shell="slightly", gears="could_not")
    save_discomfort(
        pre_visit=fit_session.pre_visit,
        session_slot=slot_of(fit_session.pre_visit_id),
        area="knee_front",
        side="left",
        felt=Felt(6, 40, "worse uphill"),
    )
    return fit_session


def address(fit_session):
    """Where the session is reviewed."""
    return reverse("review:session", args=[fit_session.pk])


def words(response):
    """What a reader sees: text without tags, on one line."""
    body = response.content.decode().partition("<main")[2]
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", body)).split())


def part(response, ident):
    """What a reader sees inside one finding."""
    html = response.content.decode()
    article = re.search(rf'<article[^>]* id="finding-{ident}".*?</article>', html, re.DOTALL)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", article[0])).split())


def test_the_page_says_what_the_core_says(fitter_client, troubled):
    """Verdict, every reason, readiness, chance, bench minutes, quantiles and the due day are those of the triage."""
    response = fitter_client.get(address(troubled))
    result = review_page(reviewed_sessions().get(pk=troubled.pk)).triage
    text = words(response)
    forecast = result.forecast
    for expected in (
        "Fix first",
        *(reason.text for reason in result.reasons),
        f"{percent(forecast.readiness_pct / 100)} readiness",
        f"{percent(forecast.chance)} chance to run to plan",
        f"{round(forecast.expected_min)} min bench minutes expected; slack 15",
        f"lose at most {forecast.quantile_min(0.5)} minutes, nine in ten at most {forecast.quantile_min(0.9)}.",
        "Decide by Thu 5 Mar",
    ):
        assert expected in text, expected
    assert result.decision_due.isoformat() == "2026-03-05"


def test_the_picture_has_its_words(fitter_client, troubled):
    """The forecast is drawn, described for screen readers, and given in figures that add up."""
    html = fitter_client.get(address(troubled)).content.decode()
    drawing = re.search(
        r'<svg[^>]*class="scene"[^>]*aria-labelledby="forecast-title forecast-desc".*?</svg>', html, re.DOTALL
    )
    assert "slack 15 min" in drawing[0]
    assert "style=" not in drawing[0]
    table = html.partition('id="forecast-table"')[2].partition("</table>")[0]
    shares = [float(share) for share in re.findall(r"([\d.]+) %", table)]
    assert sum(shares) == pytest.approx(100, abs=0.4)


def test_a_finding_shows_answer_effects_minutes_and_remedies(fitter_client, troubled):
    """The rider's own words with who and when; sure or how likely; locked adjustments; each way with its last day."""
    response = fitter_client.get(address(troubled))
    post = part(response, "post_slides-stuck")
    for expected in (
        "Seatpost stuck in the frame",
        "sure",
        "locked saddle height (essential)",
        "40 min at the bench, one in ten over 100",
        "It does not move at all the rider, 2 Mar, 08:00",
        "workshop A workshop frees the stuck post",
        "start by Thu 5 Mar",
        "Fix first Studio does it Accept Fixed Not a fault",
    ):
        assert expected in post, expected
    assert "Take back" not in post
    saddle = part(response, "saddle_shell-sunk")
    assert "likely, 40 %" in saddle
    assert "falsifies what is measured" in saddle


def test_an_answer_that_does_not_fit_is_named(fitter_client, fit_session):
    """Spacers were measured and said to be missing: the lengths count, and the fitter can ask which it is."""
    all_answered(fit_session)
    fitted = "Answers that do not fit"
    assert fitted not in words(fitter_client.get(address(fit_session)))
    row = fit_session.pre_visit.answers.get(check_key="spacers")
    row.option, row.lengths_mm = "none_over", {"over_mm": 20.0, "under_mm": 10.0}
    row.save()
    said = words(fitter_client.get(address(fit_session)))
    assert fitted in said
    assert "do not go together; the lengths count" in said


def test_the_buttons_of_each_finding_are_a_group_with_its_name(fitter_client, troubled):
    """Who hears the page must know what “Accept” accepts, of findings and of what is not known."""
    answered(troubled, front_bolts="could_not")
    html = fitter_client.get(address(troubled)).content.decode()
    for title in ("Seatpost stuck in the frame", "Bolts of stem and bar"):
        assert f'role="group" aria-label="Decide: {title}"' in html


def test_too_late_is_marked_with_what_is_left(fitter_client, fit_session):
    """Two days before the slot no workshop can free a post any more: the choices of the late finding are listed."""
    FitSession.objects.filter(pk=fit_session.pk).update(starts_at=NOW + timedelta(days=2, hours=2))
    fit_session.refresh_from_db()
    all_answered(fit_session, post_slides="stuck")
    response = fitter_client.get(address(fit_session))
    post = part(response, "post_slides-stuck")
    assert "too late: last day was Mon 23 Feb" in post
    assert "Every remedy comes too late." in post
    assert "move to Wed 11 Mar or later" in post
    assert "do it at the bench, accept it" in post
    assert "Move it to Wed 11 Mar or later" in words(response)


def test_an_answer_by_the_desk_names_who_gave_it(fitter_client, fit_session, fitter_user):
    """Who filled in for a caller is kept and shown; a known fact of the bike says so itself."""
    fit_session.bike.cockpit = "one_piece"
    fit_session.bike.save()
    all_answered(fit_session, by=fitter_user, post_slides="stuck")
    response = fitter_client.get(address(fit_session))
    assert "It does not move at all Marit Solvang, 2 Mar, 08:00" in part(response, "post_slides-stuck")
    assert "known of the bike" in words(response)


def test_an_answer_under_an_older_catalogue_says_so(fitter_client, fit_session):
    """Its words are those that the catalogue still has, its version is named; an answer that no longer exists stands as it is."""
    all_answered(fit_session, post_slides="stuck", lever_match="height")
    CheckAnswer.objects.filter(check_key="post_slides").update(catalogue_version="2019.4")
    CheckAnswer.objects.filter(check_key="gears").update(catalogue_version="2019.4", option="gone_since")
    text = words(fitter_client.get(address(fit_session)))
    assert "It does not move at all the rider, 2 Mar, 08:00; answered under the questions of 2019.4" in text
    assert "gone_since" in text


def test_the_locked_map_names_what_stands_in_the_way(fitter_client, troubled):
    """Essential adjustments first, each with its mark; what is held says because of which finding."""
    html = fitter_client.get(address(troubled)).content.decode()
    rows = [
        " ".join(re.sub(r"<[^>]+>", " ", row).split())
        for row in re.findall(r"<li>.*?</li>", html.partition('class="map"')[2].partition("</ul>")[0], re.DOTALL)
    ]
    assert rows[0] == "saddle height (essential) locked because of Seatpost stuck in the frame"
    assert rows[1].startswith("cleat fore-aft (essential) limited because of Cleats worn past their marker")
    assert "saddle tilt (essential) free" in rows
    assert 'href="#finding-post_slides-stuck"' in html
    assert "pad height" not in html


def test_complaints_stand_beside_their_suspects(fitter_client, troubled):
    """The worst complaint first, each with what is worth ruling out, as a possibility."""
    text = words(fitter_client.get(address(troubled)))
    assert "Knee, front, left 6 of 10 after 40 minutes worse uphill" in text
    assert "Worth ruling out first: Cleats worn past their marker ; Saddle sunk on one side (40 %)" in text
    assert "A possibility, never a cause and not a diagnosis." in text


def test_nothing_hurts_is_not_the_same_as_nothing_said(fitter_client, fit_session):
    """The fitter sees whether the rider was asked."""
    assert "The rider has not said." in words(fitter_client.get(address(fit_session)))
    say_nothing_hurts(pre_visit=fit_session.pre_visit, session_slot=slot_of(fit_session.pre_visit_id))
    assert "says that nothing hurts" in words(fitter_client.get(address(fit_session)))


def test_what_is_unknown_is_asked_in_order(fitter_client, fit_session):
    """What matters for safety first, then what the verdict waits for, then the rest by its worth; the long tail is folded away."""
    page = review_page(reviewed_sessions().get(pk=fit_session.pk))
    order = [card.key for card in page.unknowns]
    waited_for = {key for reason in page.triage.reasons for key in reason.checks}
    for_safety = set(next(reason.checks for reason in page.triage.reasons if reason.code == "unknown_hazard"))
    assert {"red_flags_emergency", "red_flags_clinician", "crash"} <= for_safety < waited_for
    assert set(order[: len(for_safety)]) == for_safety
    assert set(order[: len(waited_for)]) == waited_for
    html = fitter_client.get(address(fit_session)).content.decode()
    assert f"{len(order) - 5} more checks without an answer" in html
    assert "The rider has not answered anything yet." in html
    assert "usually fewer than 1 % report something here" in html
    assert reverse("desk_check:question", args=[fit_session.pre_visit_id, "red_flags_emergency"]) in html


def test_a_check_that_the_rider_could_not_do_is_listed_as_unknown(fitter_client, troubled):
    """Tried and not managed is another thing than not tried."""
    gears = part(fitter_client.get(address(troubled)), "gears")
    assert "could not do it" in gears
    assert "We look at it here Go ahead without Known to be in order" in gears


def test_rider_bike_note_and_link_are_on_the_page(fitter_client, troubled, rider_link):
    """Everything that a telephone call needs."""
    PreVisitCheck.objects.filter(pk=troubled.pre_visit_id).update(note="I ride to work.", submitted_at=NOW)
    FitSession.objects.filter(pk=troubled.pk).update(wish="A long day in June.")
    response = fitter_client.get(address(troubled))
    text = words(response)
    for expected in ("I ride to work.", "A long day in June.", troubled.client.email, "Kind road", "Mon 2 Mar, 08:00"):
        assert expected in text
    assert rider_link.get_absolute_url() in text
    for name, pk in (("desk_check:start", troubled.pre_visit_id), ("desk:client", troubled.client_id)):
        assert reverse(name, args=[pk]) in response.content.decode()


def test_a_revoked_link_is_not_shown(fitter_client, troubled, rider_link):
    """Only an open link is worth copying."""
    rider_link.revoked_at = NOW
    rider_link.save()
    text = words(fitter_client.get(address(troubled)))
    assert rider_link.key not in text
    assert "The rider has no open link." in text


def test_the_history_is_one_list_newest_first(fitter_client, troubled, fitter_user):
    """States, decisions on the slot and on findings, with who and when."""
    StateChange.objects.create(fit_session=troubled, to_state="booked")
    SlotDecision.objects.create(fit_session=troubled, choice="extend", extra_min=30, decided_by=fitter_user)
    with time_machine.travel(NOW + timedelta(minutes=5)):
        rule_on_finding(
            fit_session=troubled, key="post_slides.stuck", ruling=Ruling.FIX_FIRST, note="at the mill", by=fitter_user
        )
        html = fitter_client.get(address(troubled)).content.decode()
    lines = [
        " ".join(re.sub(r"<[^>]+>", " ", line).split())
        for line in re.findall(r"<li>.*?</li>", html.partition('<ol class="history"')[2], re.DOTALL)
    ]
    assert lines == [
        "2 Mar, 08:05 Seatpost stuck in the frame: fix before the session Marit Solvang at the mill",
        "2 Mar, 08:00 Slot: extend Marit Solvang 30 minutes more",
        "2 Mar, 08:00 Session: booked the rider",
    ]


def test_hostile_words_of_a_rider_stay_words(fitter_client, fit_session):
    """Names, notes and remarks are shown, never run."""
    evil = "<script>alert('x')</script>\u202eevil"
    fit_session.client.name = evil
    fit_session.client.save()
    PreVisitCheck.objects.filter(pk=fit_session.pre_visit_id).update(note=evil)
    FitSession.objects.filter(pk=fit_session.pk).update(wish=evil)
    answered(fit_session, post_slides="stuck")
    CheckAnswer.objects.update(note=evil)
    assert "<script>alert" not in fitter_client.get(address(fit_session)).content.decode()
    assert "<script>alert" not in fitter_client.get(reverse("review:list")).content.decode()


def test_a_session_that_is_over_can_be_read_but_not_decided(fitter_client, troubled):
    """No button is offered that would be refused."""
    FitSession.objects.filter(pk=troubled.pk).update(state="cancelled")
    html = fitter_client.get(address(troubled)).content.decode()
    assert "The slot can no longer be changed." in html
    assert reverse("review:rule", args=[troubled.pk]) not in html
    assert reverse("review:slot", args=[troubled.pk, "keep"]) not in html


def test_times_are_the_studios_own(fitter_client, troubled):
    """Ten o'clock UTC is seven in the evening in Tokyo, and eight in the morning five in the afternoon."""
    studio = troubled.studio
    studio.time_zone = "Asia/Tokyo"
    studio.save()
    text = words(fitter_client.get(address(troubled)))
    assert "Mon 16 Mar 2026, 19:00–21:00" in text
    assert "the rider, 2 Mar, 17:00" in text


def test_the_page_costs_the_same_whatever_was_said_and_decided(
    fitter_client, fit_session, fitter_user, django_assert_num_queries
):
    """Answers, findings, decisions and history add rows, never queries; only names of those who answered cost one more."""
    with django_assert_num_queries(27):
        fitter_client.get(address(fit_session))
    all_answered(fit_session, by=fitter_user, post_slides="stuck", cleat_wear="past_marker", saddle_shell="sunk")
    for number in range(10):
        FindingDecision.objects.create(
            pre_visit=fit_session.pre_visit,
            finding_key="post_slides.stuck",
            ruling=["fix_first", "studio"][number % 2],
            decided_by=fitter_user,
        )
        SlotDecision.objects.create(fit_session=fit_session, choice="keep", decided_by=fitter_user)
        StateChange.objects.create(fit_session=fit_session, to_state="booked", changed_by=fitter_user)
    for number in range(30):
        factories.FitSessionFactory(
            studio=fit_session.studio, starts_at=NOW + timedelta(days=1, minutes=5 * number), occupancy=False
        )
    with django_assert_num_queries(28):
        fitter_client.get(address(fit_session))


def test_looking_changes_nothing(fitter_client, troubled, django_assert_num_queries):
    """A page that is only read writes nothing."""
    before = troubled.pre_visit.summary
    fitter_client.get(address(troubled))
    before.refresh_from_db()
    assert FindingDecision.objects.count() == SlotDecision.objects.count() == 0


@pytest.mark.parametrize("pk", [0, 999_999, 2**63, 10**40])
def test_a_made_up_session_is_not_found(fitter_client, studio, pk):
    """404, whatever number is typed."""
    assert fitter_client.get(reverse("review:session", args=[pk])).status_code == 404
    for name in ("rule", "acknowledge", "confirm"):
        assert fitter_client.post(reverse(f"review:{name}", args=[pk])).status_code == 404
    for choice in ("keep", "extend", "move", "ask_rider"):
        assert fitter_client.get(reverse("review:slot", args=[pk, choice])).status_code == 404
        assert fitter_client.post(reverse("review:slot", args=[pk, choice])).status_code == 404


def test_only_staff_review(client, fit_session, owner_user):
    """A stranger is sent to the log-in from every address, and nothing is kept of what they post."""
    addresses = [address(fit_session)]
    addresses += [reverse(f"review:{name}", args=[fit_session.pk]) for name in ("rule", "acknowledge", "confirm")]
    addresses += [
        reverse("review:slot", args=[fit_session.pk, choice]) for choice in ("keep", "extend", "move", "ask_rider")
    ]
    for one in addresses:
        for answer in (client.get(one), client.post(one, {"basis": "0.0"})):
            assert answer.status_code == 302
            assert answer.url.startswith("/accounts/login/")
    assert SlotDecision.objects.count() == 0
    owner = Browser()
    owner.force_login(owner_user)
    assert owner.get(addresses[0]).status_code == 200


def test_wrong_methods_are_refused(fitter_client, fit_session):
    """What decides is posted; what shows is read; an unknown choice is no page."""
    assert fitter_client.post(address(fit_session)).status_code == 405
    for name in ("rule", "acknowledge", "confirm"):
        assert fitter_client.get(reverse(f"review:{name}", args=[fit_session.pk])).status_code == 405
    assert fitter_client.put(reverse("review:slot", args=[fit_session.pk, "keep"])).status_code == 405
    assert fitter_client.get(reverse("review:slot", args=[fit_session.pk, "vanish"])).status_code == 404

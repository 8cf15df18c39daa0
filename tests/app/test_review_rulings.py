"""Decisions on findings: what can be decided, what it changes, that it is kept once with who and when, and that nonsense is refused."""

from datetime import UTC, datetime, timedelta
from threading import Barrier, Thread

import pytest
import time_machine
from django.db import connection
from django.urls import reverse

from intake.models import FindingDecision, TriageSummary
from intake.models.decisions import RULING_LABELS
from intake.triage.answers import Ruling
from intake.triage.phrases import percent
from sessions.models import FitSession
from sessions.selectors.review.rulings import offered_rulings
from sessions.services.review.decisions import (
    FindingGoneError,
    RulingNotOfferedError,
    SessionOverError,
    can_rule,
    check_ruling,
    rule_on_finding,
)
from tests import factories
from tests.reviewing import all_answered, answered

NOW = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
STUCK = "post_slides.stuck"
HTMX = {"HX-Request": "true"}


@pytest.fixture(autouse=True)
def clock():
    """Monday morning, 2 March 2026."""
    with time_machine.travel(NOW):
        yield


@pytest.fixture
def stuck(fit_session):
    """Everything in order but the post, which does not move."""
    all_answered(fit_session, post_slides="stuck")
    return fit_session


def post(browser, fit_session, **data):
    """What the browser of a fitter gets for a tap."""
    headers = HTMX if data.pop("htmx", False) else {}
    return browser.post(reverse("review:rule", args=[fit_session.pk]), data, headers=headers)


def kept():
    """Every row of decisions, as key and ruling."""
    return list(FindingDecision.objects.order_by("pk").values_list("finding_key", "ruling"))


# ── What can be decided ────────────────────────────────────────────────────────────────────────────────────────────────────

WORKSHOP_WORK = ["fix_first", "studio", "accept", "fixed", "not_a_fault"]
ALL = ["fix_first", "studio", "bring_part", "accept", "fixed", "not_a_fault"]
OFFERED = [
    ({"post_slides": "stuck"}, STUCK, WORKSHOP_WORK),
    ({"post_slides": "stiff"}, "post_slides.forced", WORKSHOP_WORK),
    ({"lever_match": "height"}, "lever_match.differ", ALL),
    ({"crash": "fall"}, "crash.fall", ["fix_first", "fixed", "not_a_fault"]),
    (
        {"brakes_wheels_tyres": "brakes"},
        "brakes_wheels_tyres.not_safe",
        ["fix_first", "studio", "fixed", "not_a_fault"],
    ),
    ({"bring": "no_shoes"}, "bring.shoes_missing", ["studio", "bring_part", "accept", "fixed", "not_a_fault"]),
    ({"red_flags_clinician": "pain"}, "red_flags_clinician.pain", ["fixed", "not_a_fault"]),
    ({"gears": "could_not"}, "gears", ["studio", "accept", "not_a_fault"]),
    ({"crash": "could_not"}, "crash", ["not_a_fault"]),
    ({"red_flags_clinician": "could_not"}, "red_flags_clinician", []),
]


@pytest.mark.django_db
@pytest.mark.parametrize(("answers", "key", "offered"), OFFERED, ids=[key for _, key, _ in OFFERED])
def test_what_can_be_decided_follows_from_the_finding(fit_session, answers, key, offered):
    """No hazard can be accepted, no red flag planned for; the rest follows from who can put it right."""
    result = all_answered(fit_session, **answers)
    for ruling in Ruling:
        assert can_rule(result, key, ruling) is (ruling.value in offered)
        if ruling.value not in offered:
            with pytest.raises(RulingNotOfferedError) as refused:
                check_ruling(result, key, ruling)
            assert (refused.value.key, refused.value.ruling) == (key, ruling)
            assert str(RULING_LABELS[ruling]) in str(refused.value)
    assert can_rule(result, key, None)


@pytest.mark.django_db
@pytest.mark.parametrize(
    "key", ["", "post_slides", "post_slides.slides", "post_slides.", "no_such.fault", "\u202estuck"]
)
def test_only_what_is_on_the_page_can_be_decided(stuck, key):
    """Neither an answered check, nor a fault that the answers rule out, nor a made-up key."""
    result = answered(stuck)
    assert not can_rule(result, key, Ruling.FIX_FIRST)
    with pytest.raises(FindingGoneError):
        rule_on_finding(fit_session=stuck, key=key, ruling=Ruling.FIX_FIRST, by=None)
    assert kept() == []


# ── What it changes ────────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.django_db
@pytest.mark.parametrize("ruling", WORKSHOP_WORK)
def test_a_decision_overrides_what_the_engine_assumed(stuck, fitter_user, ruling):
    """The triage is computed again, and what lists show follows at once."""
    result = rule_on_finding(fit_session=stuck, key=STUCK, ruling=Ruling(ruling), note="as agreed", by=fitter_user)
    assert result.finding(STUCK).ruling == ruling
    gone = ruling in {"fix_first", "fixed", "not_a_fault"}
    assert (result.forecast.chance == pytest.approx(1)) is gone
    summary = TriageSummary.objects.get(pre_visit=stuck.pre_visit)
    assert summary.verdict == result.verdict
    assert summary.chance_to_plan == pytest.approx(result.forecast.chance)
    row = FindingDecision.objects.get()
    assert (row.decided_by, row.note) == (fitter_user, "as agreed")
    assert abs(row.decided_at - NOW) < timedelta(minutes=1)


@pytest.mark.django_db
def test_taken_back_is_as_before(stuck, fitter_user):
    """The history keeps both; the figures are those before the decision."""
    before = answered(stuck)
    rule_on_finding(fit_session=stuck, key=STUCK, ruling=Ruling.FIXED, by=fitter_user)
    after = rule_on_finding(fit_session=stuck, key=STUCK, ruling=None, by=fitter_user)
    assert after == before
    assert kept() == [(STUCK, "fixed"), (STUCK, "")]


@pytest.mark.django_db
def test_a_check_without_an_answer_can_be_settled(fit_session, fitter_user):
    """Going ahead without knowing stops the verdict from waiting for it; nothing else changes."""
    before = all_answered(fit_session, cleat_wear="could_not", cleat_bolts="could_not", front_bolts="could_not")
    assert before.verdict == "ask_rider"
    for key in ("cleat_wear", "cleat_bolts", "front_bolts"):
        after = rule_on_finding(fit_session=fit_session, key=key, ruling=Ruling.ACCEPT, by=fitter_user)
    assert after.verdict == "clear"
    assert after.forecast.chance == pytest.approx(before.forecast.chance)


# ── Kept once ──────────────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.django_db
def test_a_second_tap_keeps_nothing_twice(fitter_client, stuck):
    """The same decision again adds no row, by htmx or not; another one, or a new note, does."""
    for htmx in (False, True, False):
        post(fitter_client, stuck, finding=STUCK, ruling="fix_first", htmx=htmx)
    assert kept() == [(STUCK, "fix_first")]
    post(fitter_client, stuck, finding=STUCK, ruling="fix_first", note="the mill workshop has it")
    post(fitter_client, stuck, finding=STUCK, ruling="fix_first", note="the mill workshop has it")
    post(fitter_client, stuck, finding=STUCK, ruling="studio")
    assert kept() == [(STUCK, "fix_first"), (STUCK, "fix_first"), (STUCK, "studio")]


@pytest.mark.django_db
def test_taking_back_nothing_keeps_nothing(fitter_client, stuck):
    """Neither before the first decision nor twice after one."""
    post(fitter_client, stuck, finding=STUCK, ruling="take_back")
    assert kept() == []
    for ruling in ("accept", "take_back", "take_back"):
        post(fitter_client, stuck, finding=STUCK, ruling=ruling)
    assert kept() == [(STUCK, "accept"), (STUCK, "")]


@pytest.mark.django_db(transaction=True)
def test_two_taps_at_once_keep_one_decision(studio):
    """A double tap on a slow line arrives twice at the same moment. With real connections and real threads."""
    stuck = factories.FitSessionFactory(studio=studio)
    all_answered(stuck, post_slides="stuck")
    together, failures = Barrier(3), []

    def tap():
        together.wait(timeout=20)
        try:
            rule_on_finding(fit_session=stuck, key=STUCK, ruling=Ruling.FIX_FIRST, by=None)
        except Exception as error:
            failures.append(error)
        connection.close()

    threads = [Thread(target=tap) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert failures == []
    assert kept() == [(STUCK, "fix_first")]


# ── On the page ────────────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.django_db
def test_without_scripts_a_tap_leads_back_to_its_finding(fitter_client, stuck):
    """Post, redirect, and the page says what was decided, by whom, and what follows."""
    response = post(fitter_client, stuck, finding=STUCK, ruling="fix_first", note="the mill workshop has it")
    assert response.status_code == 302
    assert response["Location"] == reverse("review:session", args=[stuck.pk]) + "#finding-post_slides-stuck"
    html = fitter_client.get(response["Location"]).content.decode()
    assert "Seatpost stuck in the frame: fix before the session." in html
    assert "Readiness is now 100 %, chance to run to plan 100 %." in html
    assert '<strong>fix before the session</strong> <span class="soft">Marit Solvang, 2 Mar, 08:00' in html
    assert "the mill workshop has it" in html


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("answers", "finding", "ruling", "words"),
    [
        ({"front_bolts": "could_not"}, "front_bolts", "accept", "go ahead without"),
        ({"front_bolts": "could_not"}, "front_bolts", "studio", "we look at it here"),
        ({"red_flags_clinician": "pain"}, "red_flags_clinician.pain", "fixed", "a clinician agrees"),
        ({"post_slides": "stuck"}, STUCK, "accept", "accept as it is"),
    ],
)
def test_a_decision_is_called_as_it_was_offered(fitter_client, fit_session, answers, finding, ruling, words):
    """In the message, beside the finding and in the history: of a check that nobody knows nothing is “accepted as it is”."""
    all_answered(fit_session, **answers)
    html = post(fitter_client, fit_session, finding=finding, ruling=ruling, htmx=True).content.decode()
    assert html.count(f": {words}") == 2
    assert f"<strong>{words}</strong>" in html


def test_with_htmx_the_part_comes_back_computed_again(fitter_client, stuck):
    """Only the part that changes, with the message for the live region, the button pressed and the new figures."""
    before = post(fitter_client, stuck, finding=STUCK, ruling="take_back", htmx=True).content.decode()
    response = post(fitter_client, stuck, finding=STUCK, ruling="studio", htmx=True)
    html = response.content.decode()
    assert response.status_code == 200
    assert html.lstrip().startswith('<div id="review"')
    assert "<html" not in html
    assert 'hx-swap-oob="true"' in html
    assert 'id="studio-post_slides-stuck" name="ruling" value="studio" aria-pressed="true"' in html
    chance = percent(TriageSummary.objects.get().chance_to_plan)
    assert f'<span class="num">{chance}</span> <span class="label">chance to run to plan' in html
    assert "Saddle height cannot be changed" in before
    assert "Saddle height cannot be changed" not in html


@pytest.mark.django_db
def test_an_answer_after_a_decision_is_pointed_out(fitter_client, stuck, fitter_user):
    """The rider answers again after the fitter has ruled: the decision still holds, and the fitter is told."""
    rule_on_finding(fit_session=stuck, key=STUCK, ruling=Ruling.FIXED, by=fitter_user)
    page = reverse("review:session", args=[stuck.pk])
    assert "The rider has answered again since this decision." not in fitter_client.get(page).content.decode()
    with time_machine.travel(NOW + timedelta(hours=2)):
        answered(stuck, post_slides="creaks")
        assert "The rider has answered again since this decision." in fitter_client.get(page).content.decode()


@pytest.mark.django_db
def test_the_buttons_are_those_that_can_be_decided(fitter_client, fit_session):
    """What the page offers is what the service lets pass."""
    result = all_answered(fit_session, crash="fall", cleat_wear="at_marker")
    html = fitter_client.get(reverse("review:session", args=[fit_session.pk])).content.decode()
    for finding in result.findings:
        slug = finding.key.replace(".", "-")
        offered = [ruling for ruling in Ruling if f'id="{ruling.value}-{slug}"' in html]
        assert sorted(offered) == sorted(offered_rulings(finding))


# ── Nonsense ───────────────────────────────────────────────────────────────────────────────────────────────────────────────

MALFORMED = [
    {},
    {"finding": STUCK},
    {"ruling": "fix_first"},
    {"finding": "", "ruling": "fix_first"},
    {"finding": STUCK, "ruling": ""},
    {"finding": STUCK, "ruling": "explode"},
    {"finding": STUCK, "ruling": "FIX_FIRST"},
    {"finding": STUCK, "ruling": "\x00"},
    {"finding": "\x00", "ruling": "fix_first"},
    {"finding": "x" * 5000, "ruling": "fix_first"},
    {"finding": "no.such", "ruling": "fix_first"},
    {"finding": "post_slides.slides", "ruling": "fix_first"},
    {"finding": "<script>alert(1)</script>", "ruling": "fix_first"},
    {"finding": "' OR 1=1 --", "ruling": "accept"},
    {"finding": "😀.\u202e", "ruling": "accept"},
    {"finding": STUCK, "ruling": "accept", "note": "n" * 501},
    {"finding": STUCK, "ruling": "accept", "note": "\x00"},
]


@pytest.mark.django_db
@pytest.mark.parametrize("htmx", [False, True])
@pytest.mark.parametrize("data", MALFORMED, ids=lambda data: repr(data)[:60])
def test_nonsense_is_refused_on_the_page(fitter_client, stuck, data, htmx):
    """422 with a sentence in an error summary; nothing is kept, nothing of it runs."""
    response = post(fitter_client, stuck, **data, htmx=htmx)
    html = response.content.decode()
    assert response.status_code == 422
    assert 'class="error-summary"' in html
    assert "<script>alert" not in html
    assert kept() == []


@pytest.mark.django_db
def test_a_note_that_is_too_long_loses_nothing(fitter_client, stuck):
    """The error stands beside the field of its finding, the text is still there, and the details are open."""
    note = "Freed with penetrating oil. " * 30
    html = post(fitter_client, stuck, finding=STUCK, ruling="fixed", note=note).content.decode()
    assert "Shorten this to 500 characters" in html
    assert note.strip()[:200] in html
    assert "<details open>" in html
    assert 'href="#id_post_slides-stuck_note"' in html
    assert 'id="id_post_slides-stuck_note"' in html


@pytest.mark.django_db
def test_what_is_over_is_decided_no_more(fitter_client, stuck):
    """A cancelled session keeps what was decided."""
    FitSession.objects.filter(pk=stuck.pk).update(state="cancelled")
    response = post(fitter_client, stuck, finding=STUCK, ruling="accept")
    assert response.status_code == 422
    assert "This session is over." in response.content.decode()
    stuck.refresh_from_db()
    with pytest.raises(SessionOverError):
        rule_on_finding(fit_session=stuck, key=STUCK, ruling=Ruling.ACCEPT, by=None)
    assert kept() == []


@pytest.mark.django_db
def test_a_finding_of_somebody_elses_session_cannot_be_decided_here(fitter_client, stuck):
    """A key is looked up in this session's own triage."""
    other = factories.FitSessionFactory(studio=stuck.studio, occupancy=False)
    all_answered(other, cleat_wear="past_marker")
    assert post(fitter_client, stuck, finding="cleat_wear.past_marker", ruling="accept").status_code == 422
    assert post(fitter_client, other, finding=STUCK, ruling="accept").status_code == 422
    assert kept() == []


@pytest.mark.django_db
def test_a_tap_costs_a_fixed_number_of_queries(fitter_client, stuck, django_assert_num_queries):
    """Deciding and computing again costs the same for the first and the hundredth decision."""
    rulings = ["accept", "studio"]
    counts = []
    for number in range(2):
        with django_assert_num_queries(55, exact=False) as counted:
            post(fitter_client, stuck, finding=STUCK, ruling=rulings[number], htmx=True)
        counts.append(len(counted))
        FindingDecision.objects.bulk_create(
            FindingDecision(pre_visit=stuck.pre_visit, finding_key="gears.x", ruling="fixed") for _ in range(100)
        )
    assert counts[0] == counts[1]

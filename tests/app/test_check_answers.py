"""Answers are saved as they are given, can be changed until the slot, and lose nothing that was typed."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from intake.catalogue.loader import load_catalogue
from intake.models import CheckAnswer
from intake.selectors.previsit import check_list
from intake.services.answers import save_answer
from intake.slots import slot_of
from intake.views import questions
from tests import factories

pytestmark = pytest.mark.django_db
HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture
def post(client, rider_link):
    """Post an answer as the rider: field names without their prefix."""

    def post(key, *, htmx=False, **fields):
        data = {f"{key}-{name}": value for name, value in fields.items() if name not in {"switch_unit", "back"}}
        data |= {name: fields[name] for name in ("switch_unit", "back") if name in fields}
        return client.post(question_url(rider_link, key), data, **(HTMX if htmx else {}))

    return post


def question_url(link, key):
    """The address of one question."""
    return reverse("check:question", args=[link.token, key])


def stored(link, key):
    """The row of one answer."""
    return CheckAnswer.objects.get(pre_visit=link.pre_visit, check_key=key)


def steps(link):
    """The rider's list as it stands."""
    link.pre_visit.refresh_from_db()
    return check_list(link.pre_visit, slot_of(link.pre_visit_id))


def test_a_plain_post_saves_and_goes_to_the_next_question(post, rider_link):
    """Without JavaScript the answer is stored, by the rider, and the next question follows."""
    response = post("brakes_wheels_tyres", option="all_good", note="new pads")
    row = stored(rider_link, "brakes_wheels_tyres")
    assert (row.option, row.note, row.answered_by) == ("all_good", "new pads", None)
    following = steps(rider_link).after("brakes_wheels_tyres")
    assert response["Location"] == question_url(rider_link, following.key)


def test_the_whole_check_can_be_walked_by_plain_posts(client, rider_link):
    """From the first open step, every post leads on, until the last page, and everything is done then."""
    address, walked = question_url(rider_link, steps(rider_link).steps[0].key), 0
    while "finish" not in address:
        walked += 1
        assert walked < 100
        if address.endswith("/discomfort/"):
            address = client.post(address)["Location"]
            continue
        key = address.rstrip("/").rsplit("/", 1)[1]
        address = client.post(address, {f"{key}-option": "could_not"})["Location"]
    after = steps(rider_link)
    assert walked == after.total == after.done
    assert after.minutes_left == 0
    assert "minutes left" not in client.get(reverse("check:start", args=[rider_link.token])).content.decode()


def test_every_answer_names_the_catalogue_version(post, rider_link):
    """An answer can only be read beside the questions it answered."""
    post("gears", option="fine", htmx=True)
    assert stored(rider_link, "gears").catalogue_version == load_catalogue().version


def test_an_answer_under_an_older_version_is_renewed_when_given_again(post, rider_link):
    """The same choice, seen beside the present question, is an answer to the present question."""
    factories.CheckAnswerFactory(
        pre_visit=rider_link.pre_visit, check_key="gears", option="fine", catalogue_version="2020.1"
    )
    post("gears", option="fine")
    assert stored(rider_link, "gears").catalogue_version == load_catalogue().version


def test_a_post_by_itself_swaps_status_progress_and_warnings(post, rider_link):
    """The answer of an autosave holds the parts that change and no input, so nothing that is being typed is replaced."""
    response = post("gears", option="fine", htmx=True)
    shown = response.content.decode()
    assert response.status_code == 200
    assert 'id="saved-gears"' in shown
    assert 'id="check-progress" hx-swap-oob="true"' in shown
    assert 'id="warnings-gears" hx-swap-oob="true"' in shown
    assert "<input" not in shown
    assert "<html" not in shown
    assert "1 of" in shown


def test_resuming_starts_at_the_first_open_step(client, post, rider_link):
    """After the phone was closed, the start page leads on to where the rider stopped."""
    first, second = steps(rider_link).steps[:2]
    post(first.key, option="could_not")
    shown = client.get(reverse("check:start", args=[rider_link.token])).content.decode()
    button = shown.split('class="button"')[1].split(">")[0]
    assert question_url(rider_link, second.key) in button
    assert "1 of" in shown


def test_a_stored_answer_is_shown_again(client, post, rider_link):
    """Opening a question again shows what was answered, ready to change."""
    post("gears", option="fine", note="new chain")
    shown = client.get(question_url(rider_link, "gears")).content.decode()
    assert re.search(r'<input[^>]*value="fine"[^>]*\bchecked\b', shown)
    assert "new chain" in shown


def test_an_answer_can_be_changed(post, rider_link):
    """The latest answer is the one that counts; there is one row for each question."""
    post("gears", option="fine")
    post("gears", option="slipping")
    assert stored(rider_link, "gears").option == "slipping"
    assert rider_link.pre_visit.answers.count() == 1


def test_the_same_post_twice_changes_nothing(post, rider_link):
    """A double tap or a resent form stores nothing twice, and the moment of the answer stays."""
    post("gears", option="fine")
    before = CheckAnswer.objects.values().get()
    post("gears", option="fine")
    post("gears", option="fine", htmx=True)
    assert CheckAnswer.objects.values().get() == before


def test_answers_cannot_be_changed_after_the_slot_has_begun(client, post, rider_link):
    """From the start of the session the pages are for reading, and a late post stores nothing and says so."""
    post("gears", option="fine")
    fit_session = rider_link.pre_visit.fit_session
    fit_session.starts_at, fit_session.ends_at = timezone.now() - timedelta(minutes=1), timezone.now()
    fit_session.save()
    for htmx in (False, True):
        response = post("gears", option="slipping", htmx=htmx)
        assert response.status_code == 409
    assert "can no longer be changed" in response.content.decode()
    assert stored(rider_link, "gears").option == "fine"
    page = client.get(question_url(rider_link, "gears")).content.decode()
    assert "For reading only" in page
    assert "They shift and hold" in page
    assert "<form" not in page


@pytest.mark.parametrize("state", ["cancelled", "no_show", "done"])
def test_a_session_that_is_not_coming_takes_no_answers(post, rider_link, state):
    """A cancelled session's check is for reading only."""
    rider_link.pre_visit.fit_session.state = state
    rider_link.pre_visit.fit_session.save()
    assert post("gears", option="fine").status_code == 409
    assert not rider_link.pre_visit.answers.exists()


# Lengths


def test_lengths_are_stored_in_millimetres_and_stand_for_their_own_answer(post, rider_link):
    """Two measured lengths need no further choice."""
    assert post("spacers", unit="mm", under_mm="12,5", over_mm="0").status_code == 302
    row = stored(rider_link, "spacers")
    assert row.option == "measured"
    assert row.lengths_mm == {"under_mm": 12.5, "over_mm": 0.0}


def test_lengths_may_be_typed_in_inches(post, rider_link):
    """With inches chosen a bare number is inches; 1/2 in is 12.7 mm (NIST SP 811: 1 in = 25.4 mm exactly)."""
    post("spacers", unit="in", under_mm="1/2", over_mm="5 mm")
    assert stored(rider_link, "spacers").lengths_mm == {"under_mm": 12.7, "over_mm": 5.0}


def test_switching_the_unit_keeps_and_converts_what_was_typed(client, post, rider_link):
    """The switch saves first, remembers the unit for this rider, and shows the same lengths in it."""
    response = post("spacers", unit="mm", under_mm="25.4", over_mm="", switch_unit="in")
    assert response["Location"] == question_url(rider_link, "spacers")
    rider_link.pre_visit.client.refresh_from_db()
    assert rider_link.pre_visit.client.length_unit == "in"
    shown = client.get(response["Location"]).content.decode()
    assert 'name="spacers-under_mm" value="1"' in shown
    assert stored(rider_link, "spacers").lengths_mm == {"under_mm": 25.4}


def test_looking_at_a_length_in_inches_and_saving_does_not_move_it(post, rider_link):
    """A length that is posted back as it was shown stays as it was stored, whatever the rounding of the display."""
    post("spacers", unit="mm", under_mm="12", over_mm="3")
    post("spacers", unit="in", under_mm="0.472", over_mm="0.118", option="measured", note="looked again")
    assert stored(rider_link, "spacers").lengths_mm == {"under_mm": 12.0, "over_mm": 3.0}
    assert stored(rider_link, "spacers").note == "looked again"


@pytest.mark.parametrize("typed", ["400", "-3", "1e9", "NaN", "inf", "twelve", "12 ft", "½½", "9" * 40])
@pytest.mark.parametrize("htmx", [False, True])
def test_an_absurd_length_is_refused_beside_its_field_and_kept_as_typed(post, rider_link, typed, htmx):
    """The catalogue's reason or the way to type a length is shown; the other length is saved all the same."""
    response = post("spacers", unit="mm", under_mm=typed, over_mm="7", htmx=htmx)
    shown = response.content.decode()
    assert response.status_code == 422
    number = load_catalogue().check("spacers").numbers[0]
    assert number.refusal in shown or "is not a length" in shown
    assert "is not saved yet" in shown if htmx else f'value="{typed}"' in shown
    row = stored(rider_link, "spacers")
    assert row.lengths_mm == {"over_mm": 7.0}
    assert row.option == ""
    assert not steps(rider_link).is_done(load_catalogue().check("spacers"))


def test_a_refused_length_leaves_the_one_that_was_stored(post, rider_link):
    """A slip of the finger does not wipe out a good measurement."""
    post("spacers", unit="mm", under_mm="12", over_mm="3")
    post("spacers", unit="mm", option="measured", under_mm="1200", over_mm="3", htmx=True)
    assert stored(rider_link, "spacers").lengths_mm == {"under_mm": 12.0, "over_mm": 3.0}


def test_a_refusal_in_inches_names_the_limits_in_inches(post):
    """A rider with an inch ruler reads the limits in inches."""
    shown = post("spacers", unit="in", under_mm="40", over_mm="0").content.decode()
    assert "3.94 in" in shown


def test_half_a_measurement_is_kept_but_does_not_count_as_done(client, post, rider_link):
    """The first of two lengths saves itself; the question stays open until the second or another answer is given."""
    response = post("spacers", unit="mm", under_mm="12", over_mm="", htmx=True)
    assert response.status_code == 200
    assert "still missing" in response.content.decode()
    assert stored(rider_link, "spacers").lengths_mm == {"under_mm": 12.0}
    assert not steps(rider_link).is_done(load_catalogue().check("spacers"))
    response = post("spacers", unit="mm", option="measured", under_mm="12", over_mm="")
    assert response.status_code == 422
    assert "Type this length too" in response.content.decode()


def test_a_length_that_is_emptied_is_taken_back(post, rider_link):
    """What the rider deletes is deleted."""
    post("lever_match", unit="mm", left_tip_mm="940", htmx=True)
    post("lever_match", unit="mm", left_tip_mm="", htmx=True)
    assert not rider_link.pre_visit.answers.exists()


def test_a_remark_alone_is_kept_and_the_question_stays_open(post, rider_link):
    """Something typed before an answer is chosen survives closing the phone."""
    post("gears", note="it clicks", htmx=True)
    assert stored(rider_link, "gears").note == "it clicks"
    assert not steps(rider_link).is_done(load_catalogue().check("gears"))


# What the answers teach and unlock


def test_facts_and_spacers_are_noted_on_the_bike(post, rider_link):
    """What the rider finds out about the bike is known from then on."""
    post("post_kind", option="dropper")
    post("cockpit_kind", option="separate")
    post("pedal_kind", option="clip_two_bolt")
    post("indoors", option="yes")
    post("spacers", unit="mm", under_mm="15", over_mm="5")
    bike = rider_link.pre_visit.bike
    bike.refresh_from_db()
    assert (bike.post_kind, bike.cockpit, bike.pedal_kind, bike.indoors) == (
        "dropper",
        "separate",
        "clip_two_bolt",
        "yes",
    )
    assert (bike.spacers_under_mm, bike.spacers_over_mm) == (15.0, 5.0)


def test_a_fact_given_here_can_be_changed_and_taken_back_here(post, rider_link):
    """A question about the bike stays on the list after it was answered; “cannot tell” forgets what it had taught."""
    post("post_kind", option="mast")
    assert "post_kind" in {step.key for step in steps(rider_link).steps}
    post("post_kind", option="not_sure")
    bike = rider_link.pre_visit.bike
    bike.refresh_from_db()
    assert bike.post_kind == ""


def test_a_fact_known_before_is_not_asked(client, post, rider_link):
    """What the studio knows of the bike is not asked again, and an answer to it is refused in words."""
    bike = rider_link.pre_visit.bike
    bike.pedal_kind = "flat"
    bike.save()
    keys = {step.key for step in steps(rider_link).steps}
    assert not keys & {"pedal_kind", "cleat_wear", "cleat_bolts", "pedal_hold"}
    assert client.get(question_url(rider_link, "cleat_wear")).status_code == 404
    for key in ("pedal_kind", "cleat_wear"):
        response = post(key, option="could_not")
        assert response.status_code == 422
        assert "does not apply" in response.content.decode()
    assert not rider_link.pre_visit.answers.exists()


@pytest.mark.parametrize(("htmx", "status"), [(False, 302), (True, 409)])
def test_a_question_that_another_tab_makes_unnecessary_meanwhile(post, rider_link, monkeypatch, htmx, status):
    """The answer is kept, and the rider is led back to the list, or told to load the page again."""
    rows = CheckAnswer.objects.filter(pre_visit=rider_link.pre_visit)

    def save_beside_another_tab(**given):
        save_answer(**given)
        factories.CheckAnswerFactory(pre_visit=rider_link.pre_visit, check_key="seat_bolts", option="rounded")

    monkeypatch.setattr(questions, "save_answer", save_beside_another_tab)
    response = post("post_slides", option="could_not", htmx=htmx)
    assert response.status_code == status
    assert htmx or response["Location"] == reverse("check:start", args=[rider_link.token])
    assert rows.get(check_key="post_slides").option == "could_not"


def test_answers_hide_and_bring_back_later_questions(post, rider_link):
    """A flat pedal needs no cleats; changing the answer brings them back, with what was said about them."""
    post("cleat_wear", option="at_marker")
    post("pedal_kind", option="flat")
    assert "cleat_wear" not in {step.key for step in steps(rider_link).steps}
    post("pedal_kind", option="clip_three_bolt")
    words = {step.key: step.words for step in steps(rider_link).steps}
    assert words["cleat_wear"] == "At the marker, or edges rounding"


# Warnings


def test_an_answer_that_can_hurt_somebody_is_answered_at_once(client, post, rider_link):
    """The plain post stays on the question until the warning was shown; the next one goes on."""
    response = post("crash", option="crack")
    assert response["Location"] == question_url(rider_link, "crash") + "#warnings-crash"
    assert "Do not ride this bike" in client.get(response["Location"]).content.decode()
    assert "#" not in post("crash", option="crack")["Location"]


def test_a_red_flag_is_answered_at_once_in_place(post):
    """Chest pain brings the advice with the autosave, not at the end of the list."""
    shown = post("red_flags_emergency", option="chest", htmx=True).content.decode()
    assert "Get help now" in shown


# Bad input


@pytest.mark.parametrize("key", ["no_such_check", "POST_SLIDES", "post_slides.stuck"])
def test_a_question_that_no_catalogue_knows_is_not_found(client, rider_link, key):
    """A forged key leads nowhere and stores nothing."""
    marker = question_url(rider_link, "post_slides").replace("post_slides", key)
    assert client.get(marker).status_code == 404
    assert client.post(marker, {f"{key}-option": "stuck"}).status_code == 404
    assert not rider_link.pre_visit.answers.exists()


@pytest.mark.parametrize(
    "option",
    ["", "no_such_answer", "stuck\x00", "<script>alert(1)</script>", "😀" * 50, "\u202eslides", "9" * 5000],
)
@pytest.mark.parametrize("htmx", [False, True])
def test_a_forged_option_is_refused_in_place(post, rider_link, option, htmx):
    """Nothing is stored, the page says what to do, and markup comes back harmless."""
    response = post("post_slides", option=option, htmx=htmx)
    shown = response.content.decode()
    assert response.status_code == (200 if htmx and not option else 422)
    assert "<script>alert" not in shown
    assert not rider_link.pre_visit.answers.exists()


def test_a_forged_option_does_not_wipe_out_a_good_answer(post, rider_link):
    """What cannot be read changes nothing."""
    post("post_slides", option="slides")
    for htmx in (False, True):
        post("post_slides", option="no_such_answer", htmx=htmx)
    assert stored(rider_link, "post_slides").option == "slides"


@pytest.mark.parametrize("note", ["<b>bold</b>", "ريح \u202e ليل", "😀 ∆ ſ", "a\nb", "'; drop table"])
def test_any_words_are_a_remark(client, post, rider_link, note):
    """Names, scripts and signs are stored as typed and shown escaped."""
    post("gears", option="fine", note=note)
    assert stored(rider_link, "gears").note == note
    assert "<b>bold" not in client.get(question_url(rider_link, "gears")).content.decode()


@pytest.mark.parametrize("note", ["x" * 501, "with a \x00 byte"])
@pytest.mark.parametrize("htmx", [False, True])
def test_a_remark_that_cannot_be_stored_is_refused_while_the_answer_is_saved(post, rider_link, note, htmx):
    """The choice counts although the remark needs another look; a plain page shows the remark again."""
    response = post("gears", option="fine", note=note, htmx=htmx)
    assert response.status_code == 422
    assert (stored(rider_link, "gears").option, stored(rider_link, "gears").note) == ("fine", "")
    assert htmx or note[:100].split("\x00")[0] in response.content.decode()


def test_a_forged_unit_is_read_as_the_riders_own(post, rider_link):
    """An unknown unit in the form is ignored."""
    post("spacers", unit="ell", under_mm="12", over_mm="3", switch_unit="ell")
    assert stored(rider_link, "spacers").lengths_mm == {"under_mm": 12.0, "over_mm": 3.0}
    rider_link.pre_visit.client.refresh_from_db()
    assert rider_link.pre_visit.client.length_unit == "mm"


def test_a_stored_answer_that_no_longer_fits_breaks_no_page(client, rider_link):
    """Answers to retired checks, retired options and odd lengths leave every page readable."""
    factories.CheckAnswerFactory(pre_visit=rider_link.pre_visit, check_key="retired_check", option="yes")
    factories.CheckAnswerFactory(pre_visit=rider_link.pre_visit, check_key="gears", option="retired_option")
    factories.CheckAnswerFactory(
        pre_visit=rider_link.pre_visit,
        check_key="spacers",
        option="measured",
        lengths_mm={"under_mm": "12", "over_mm": None, "retired_mm": 3},
    )
    for page, args in (("start", []), ("question", ["gears"]), ("question", ["spacers"]), ("advice", [])):
        assert client.get(reverse(f"check:{page}", args=[rider_link.token, *args])).status_code == 200
    assert not steps(rider_link).is_done(load_catalogue().check("gears"))

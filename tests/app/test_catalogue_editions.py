"""Editions of the catalogue: drafts, publishing once, following, and the last good one where something is broken."""

from pathlib import Path

import pytest
from django.core import checks
from django.urls import reverse

from intake.catalogue import loader
from intake.catalogue.errors import CatalogueError, SafetyCheckError, VanishedError
from intake.catalogue.loader import load_catalogue, shipped_document
from intake.models import CatalogueEdition, CatalogueVersion, CheckAnswer, TriageSummary
from intake.selectors.catalogue import current_catalogue, forget, look_again, one_catalogue, serving, words_of_versions
from intake.selectors.editions import draft_edition, edition_in_force, mark_of, new_own_key
from intake.services import editions
from intake.services.triage import refresh_summary
from sessions.selectors.review.page import review_page, reviewed_sessions
from tests.core.test_catalogue_overlay import OWN, OWN_REMEDY

pytestmark = pytest.mark.django_db


def reword(title, key="gears"):
    """A change of one check's title."""
    return lambda overlay: {**overlay, "checks": {**overlay.get("checks", {}), key: {"title": title}}}


def published(change, by=None, note="For a test."):
    """Change the draft and publish it."""
    draft = editions.change_draft(change=change, by=by)
    return editions.publish(number=draft.number, revision=draft.revision, note=note, by=by)


def broken_file(monkeypatch, tmp_path, text="version = "):
    """Ship a file that cannot be read."""
    path = tmp_path / "checks.toml"
    path.write_text(text)
    monkeypatch.setattr(loader, "SHIPPED", path)
    loader._shipped.cache_clear()
    forget()


@pytest.fixture(autouse=True)
def _whole_file_afterwards():
    yield
    loader._shipped.cache_clear()


def test_nothing_is_asked_before_it_is_published(owner_user):
    """A draft is the owner's alone; publishing asks all of it at once, under a version of its own."""
    draft = editions.change_draft(change=reword("Gears and chain"), by=owner_user)
    assert look_again().catalogue is load_catalogue()
    editions.publish(number=draft.number, revision=draft.revision, note="Clearer.", by=owner_user)
    assert current_catalogue().check("gears").title == "Gears and chain"
    assert current_catalogue().version == f"{load_catalogue().version}+1"
    edition = edition_in_force()
    assert (edition.number, edition.note, edition.published_by) == (1, "Clearer.", owner_user)
    assert draft_edition() is None


def test_a_later_edition_retires_the_one_before():
    """One is in force; the numbers only rise."""
    published(reword("One"))
    published(reword("Two"))
    assert list(CatalogueEdition.objects.values_list("number", "state")) == [(2, "in_force"), (1, "retired")]


def test_publishing_twice_tells_the_second():
    """Two browsers: the first publishes, the second is told; a draft that changed after it was seen is not published either."""
    draft = editions.change_draft(change=reword("One"), by=None)
    seen = {"number": draft.number, "revision": draft.revision, "note": "x", "by": None}
    editions.change_draft(change=reword("Two"), by=None)
    with pytest.raises(editions.DraftChangedError):
        editions.publish(**seen)
    assert draft_edition().overlay["checks"]["gears"]["title"] == "Two"
    editions.publish(**(seen | {"revision": draft.revision + 1}))
    with pytest.raises(editions.DraftChangedError):
        editions.publish(**(seen | {"revision": draft.revision + 1}))
    assert CatalogueEdition.objects.count() == 1


def test_two_owners_of_one_check_overwrite_nobody():
    """The second to save is told; another check does not stand in the way."""
    mark = mark_of({}, "gears")
    editions.change_draft(change=reword("One"), by=None, key="gears", seen=mark)
    with pytest.raises(editions.DraftChangedError):
        editions.change_draft(change=reword("Two"), by=None, key="gears", seen=mark)
    editions.change_draft(change=reword("Falls", "crash"), by=None, key="crash", seen=mark_of({}, "crash"))
    assert {key: edit["title"] for key, edit in draft_edition().overlay["checks"].items()} == {
        "gears": "One",
        "crash": "Falls",
    }


def test_a_change_that_does_not_hold_together_is_not_kept():
    """The draft stays as it was."""
    with pytest.raises(CatalogueError) as caught:
        editions.change_draft(change=lambda overlay: {**overlay, "off": ["crash"]}, by=None)
    assert isinstance(caught.value.problems[0], SafetyCheckError)
    assert draft_edition() is None


def test_nothing_to_publish_says_so():
    """A draft that says what is in force would be an edition without a change."""
    published(reword("One"))
    draft = editions.change_draft(change=reword("One"), by=None)
    with pytest.raises(editions.NothingChangedError):
        editions.publish(number=draft.number, revision=draft.revision, note="", by=None)


def test_an_earlier_edition_comes_back_as_a_new_one():
    """Restoring writes a draft, and never over another."""
    first = published(reword("One"))
    published(reword("Two"))
    draft = editions.start_from(overlay=first.overlay, by=None)
    with pytest.raises(editions.DraftOpenError):
        editions.start_from(overlay={}, by=None)
    editions.publish(number=draft.number, revision=draft.revision, note="Back.", by=None)
    assert current_catalogue().check("gears").title == "One"
    assert current_catalogue().version.endswith("+3")


def test_a_key_of_ones_own_is_never_used_again():
    """Answers to what was taken out keep their meaning."""
    assert new_own_key("Rack") == "own_rack"
    published(lambda overlay: {**overlay, "own_checks": [OWN], "own_remedies": [OWN_REMEDY]})
    published(lambda _overlay: {})
    assert new_own_key("Rack") == "own_rack_2"
    assert new_own_key("车架") == "own_check"


def test_other_processes_follow_by_one_small_query(settings, django_assert_num_queries):
    """Within its seconds no query, afterwards one; inside one request nothing changes."""
    settings.CATALOGUE_FOLLOW_S = 3600
    with django_assert_num_queries(1):
        current_catalogue()
    with django_assert_num_queries(0):
        current_catalogue()
    settings.CATALOGUE_FOLLOW_S = 0
    with one_catalogue():
        before = current_catalogue()
        CatalogueEdition.objects.create(
            number=1,
            state="in_force",
            base_version="x",
            overlay={"off": ["gears"]},
            made_at="2026-11-25T00:00Z",
            published_at="2026-11-25T00:00Z",
        )
        assert current_catalogue() is before
    with django_assert_num_queries(2):
        assert current_catalogue().version.endswith("+1")
    with django_assert_num_queries(1):
        assert "gears" not in {check.key for check in current_catalogue().checks}


def test_a_broken_edition_serves_the_last_good_one_and_is_told(client, studio, fitter_user, owner_user):
    """The desk reads the exact message with its key, at home and at the studio; riders go on."""
    published(reword("Good"))
    CatalogueEdition.objects.filter(state="in_force").update(overlay={"checks": {"gone_since": {}}})
    forget()
    assert look_again().catalogue.check("gears").title == "Good"
    (trouble,) = serving().troubles
    assert isinstance(trouble, VanishedError)
    for user in (fitter_user, owner_user):
        client.force_login(user)
        for page in ("desk:home", "desk:studio"):
            assert "gone_since: the studio changed this" in client.get(reverse(page)).content.decode()


@pytest.mark.parametrize("overlay", [[], {"off": 3}, {"checks": {"gears": {"title": ""}}}, "x", {"own_checks": [{}]}])
def test_whatever_stands_in_the_edition_no_page_breaks(overlay, client, studio, owner_user):
    """Every page about the catalogue opens, says what is wrong and offers to mend it."""
    published(reword("Good"))
    CatalogueEdition.objects.filter(state="in_force").update(overlay=overlay)
    forget()
    assert look_again().troubles
    client.force_login(owner_user)
    for page in ("catalogue:list", "catalogue:draft", "catalogue:editions", "catalogue:new"):
        assert client.get(reverse(page)).status_code == 200
    assert client.post(reverse("catalogue:mend")).status_code == 302


def test_a_broken_file_serves_what_was_kept(monkeypatch, tmp_path):
    """The worker kept the version while it was good; a new process finds it."""
    assert editions.keep_current_version()
    broken_file(monkeypatch, tmp_path)
    found = look_again()
    assert found.catalogue.version == shipped_version()
    assert "checks.toml: the file is no TOML" in str(found.troubles[0])
    assert not editions.keep_current_version()


def shipped_version():
    """The version of the file that was kept."""
    return CatalogueVersion.objects.latest("kept_at").version


def test_a_broken_file_without_anything_kept_does_not_start(monkeypatch, tmp_path):
    """There is nothing to ask."""
    broken_file(monkeypatch, tmp_path)
    with pytest.raises(CatalogueError):
        look_again()


@pytest.mark.parametrize(("sound", "serious"), [(True, True), (False, False)])
def test_a_broken_file_is_an_error_only_where_nobody_rides(monkeypatch, tmp_path, settings, sound, serious):
    """Development and CI refuse to start; a studio at work is warned."""
    settings.CATALOGUE_MUST_BE_SOUND = sound
    broken_file(monkeypatch, tmp_path)
    (message,) = checks.run_checks(tags=["catalogue"])
    assert message.is_serious(checks.ERROR) is serious


def test_an_edition_that_no_longer_fits_warns_at_start_up():
    """A warning names the key; the start goes on."""
    published(reword("Good"))
    assert checks.run_checks(tags=[checks.Tags.database], databases=["default"]) == []
    CatalogueEdition.objects.update(overlay={"off": ["gone_since"]})
    (message,) = checks.run_checks(tags=[checks.Tags.database], databases=["default"])
    assert not message.is_serious()
    assert message.msg.startswith("gone_since: ")


def test_keeping_what_is_kept_costs_one_query(django_assert_num_queries):
    """The worker asks once a minute."""
    editions.keep_current_version()
    with django_assert_num_queries(1):
        assert not editions.keep_current_version()
    assert CatalogueVersion.objects.count() == 1


def test_old_answers_stay_readable(fit_session):
    """An answer in words that were changed since, and one to a question that is gone, read as they were given."""
    gears = shipped_document()["checks"][[check["key"] for check in shipped_document()["checks"]].index("gears")]
    option = gears["options"][0]["key"]
    published(
        lambda overlay: (
            overlay
            | {
                "own_checks": [OWN],
                "own_remedies": [OWN_REMEDY],
                "checks": {"gears": {"options": {option: {"label": "In the old words"}}}},
            }
        )
    )
    version = current_catalogue().version
    for key, chosen in (("gears", option), ("own_rack", "answer_2")):
        CheckAnswer.objects.create(
            pre_visit=fit_session.pre_visit,
            check_key=key,
            option=chosen,
            catalogue_version=version,
            answered_at="2026-11-25T00:00Z",
        )
    published(lambda _overlay: {})
    page = review_page(reviewed_sessions().get(pk=fit_session.pk))
    (earlier,) = page.earlier
    assert (earlier.title, earlier.words, earlier.version) == ("Rack", "Yes", version)
    assert page.record.answer(current_catalogue().check("gears")).words == "In the old words"
    assert words_of_versions({version})[version]["own_rack"].faults == {"fault": "Rack fitted"}


def test_a_new_edition_makes_every_summary_stale(fit_session):
    """What lists show is judged again by what is asked now."""
    refresh_summary(fit_session.pre_visit)
    published(lambda overlay: {**overlay, "off": ["gears"]})
    refresh_summary(fit_session.pre_visit)
    assert TriageSummary.objects.get().catalogue_version == current_catalogue().version


def test_no_page_asks_the_shipped_file_past_the_owners_edition():
    """Only the few modules that serve or check the catalogue read the file; everything else asks what is in force."""
    root = Path(loader.__file__).parents[2]
    may = {"intake/checks.py", "intake/selectors/catalogue.py"}
    readers = {
        str(path.relative_to(root))
        for app in ("intake", "sessions", "fitstudio")
        for path in (root / app).rglob("*.py")
        if "load_catalogue" in path.read_text(encoding="utf-8") and "intake/catalogue/" not in str(path)
    }
    assert readers == may

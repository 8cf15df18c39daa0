"""Django refuses to start quietly with a broken catalogue."""

from django.core import checks

from intake.catalogue.errors import CatalogueError, DuplicateKeyError, NoRemedyError
from intake.checks import CATALOGUE_TAG


def test_the_shipped_catalogue_passes_the_system_check():
    """Nothing is reported, and the check is among those that run at start-up."""
    assert CATALOGUE_TAG in checks.registry.registry.tags_available()
    assert checks.run_checks(tags=[CATALOGUE_TAG]) == []


def test_each_problem_becomes_an_error_of_its_own(monkeypatch):
    """The message names the key; the id names the kind."""

    def broken():
        raise CatalogueError([DuplicateKeyError("post_slides"), NoRemedyError("gears.slipping")])

    monkeypatch.setattr("intake.checks.load_catalogue", broken)
    found = checks.run_checks(tags=[CATALOGUE_TAG])
    assert [message.id for message in found] == ["intake.catalogue.DuplicateKey", "intake.catalogue.NoRemedy"]
    assert all(message.is_serious() for message in found)
    assert "post_slides" in found[0].msg

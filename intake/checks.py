"""Tell at start-up what is wrong with the catalogue of checks, before a rider meets it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.apps import AppConfig
from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, register
from django.core.checks import Warning as Caution
from django.db import DatabaseError

from intake.catalogue.errors import CatalogueError, EntryError
from intake.catalogue.loader import load_catalogue, shipped_document
from intake.catalogue.overlay import overlaid

CATALOGUE_TAG = "catalogue"


@register(CATALOGUE_TAG)
def check_catalogue(app_configs: Sequence[AppConfig] | None, **kwargs: Any) -> list[CheckMessage]:
    """Report every problem of the shipped catalogue by itself: an error, or a warning where a studio must go on working."""
    try:
        load_catalogue()
    except CatalogueError as error:
        kind = Error if settings.CATALOGUE_MUST_BE_SOUND else Caution
        return [_as_message(problem, kind, "Correct intake/catalogue/checks.toml.") for problem in error.problems]
    return []


@register(Tags.database)
def check_edition(
    app_configs: Sequence[AppConfig] | None, databases: Sequence[str] | None = None, **kwargs: Any
) -> list[CheckMessage]:
    """Warn of an owner's edition that no longer fits: the last good version serves meanwhile."""
    from intake.models import CatalogueEdition, EditionState  # noqa: PLC0415 - models are not loaded yet where checks register

    try:
        in_force = CatalogueEdition.objects.filter(state=EditionState.IN_FORCE).values_list("number", "overlay").first()
        if in_force is not None and not check_catalogue(None):
            overlaid(shipped_document(), in_force[1], in_force[0])
    except CatalogueError as error:
        hint = "Mend it in the desk, under Studio, Catalogue. The last good version is asked meanwhile."
        return [_as_message(problem, Caution, hint) for problem in error.problems]
    except DatabaseError:
        return []  # before the first migration there is no edition
    return []


def _as_message(problem: EntryError, kind: type[CheckMessage], hint: str) -> CheckMessage:
    name = type(problem).__name__.removesuffix("Error")
    return kind(str(problem), hint=hint, id=f"intake.catalogue.{name}")

"""Tell at start-up what is wrong with the catalogue of checks, before a rider meets it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.apps import AppConfig
from django.core.checks import CheckMessage, Error, register

from intake.catalogue.errors import CatalogueError, EntryError
from intake.catalogue.loader import load_catalogue

CATALOGUE_TAG = "catalogue"


@register(CATALOGUE_TAG)
def check_catalogue(app_configs: Sequence[AppConfig] | None, **kwargs: Any) -> list[CheckMessage]:
    """Report every problem of the shipped catalogue as an error of its own."""
    try:
        load_catalogue()
    except CatalogueError as error:
        return [_as_message(problem) for problem in error.problems]
    return []


def _as_message(problem: EntryError) -> CheckMessage:
    kind = type(problem).__name__.removesuffix("Error")
    return Error(str(problem), hint="Correct intake/catalogue/checks.toml.", id=f"intake.catalogue.{kind}")

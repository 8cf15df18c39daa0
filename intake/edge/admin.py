"""Ways in which records appear in the owner's back room."""

import json
from collections.abc import Iterable, Sequence
from typing import Any

from django.contrib import admin
from django.contrib.admin.models import ADDITION, CHANGE, DELETION, LogEntry
from django.contrib.admin.utils import flatten_fieldsets
from django.contrib.contenttypes.models import ContentType
from django.db import models
from django.http import HttpRequest

from intake.folding import search_words


class NamelessLogAdmin(admin.ModelAdmin):
    """Leaves its rows' numbers in the owner's log instead of their names: a rider who is deleted is forgotten there, too."""

    def log_addition(self, request: HttpRequest, obj: models.Model, message: Any) -> list[LogEntry]:
        """Keep that a row was added."""
        return _logged(request, [obj], ADDITION, message)

    def log_change(self, request: HttpRequest, obj: models.Model, message: Any) -> list[LogEntry]:
        """Keep which columns were changed."""
        return _logged(request, [obj], CHANGE, message)

    def log_deletions(self, request: HttpRequest, queryset: Iterable[models.Model]) -> list[LogEntry]:
        """Keep that rows were deleted."""
        return _logged(request, queryset, DELETION)


def _logged(request: HttpRequest, rows: Iterable[models.Model], flag: int, message: Any = "") -> list[LogEntry]:
    entries = [
        LogEntry(
            user_id=request.user.pk,
            content_type=ContentType.objects.get_for_model(row, for_concrete_model=False),
            object_id=row.pk,
            object_repr=f"{row._meta.verbose_name} {row.pk}",  # noqa: SLF001 - documented in Django's model API
            action_flag=flag,
            change_message=message if isinstance(message, str) else json.dumps([_nameless(part) for part in message]),
        )
        for row in rows
    ]
    return LogEntry.objects.bulk_create(entries)


def _nameless(part: dict[str, dict[str, Any]]) -> dict[str, dict[str, Any]]:
    """Return one part of a message without the name of the row beneath that it may be about."""
    return {what: {**told, "object": "…"} if "object" in told else told for what, told in part.items()}


class FoldedSearchAdmin(NamelessLogAdmin):
    """Finds a rider without accents and capitals, as the desk does."""

    def get_search_results(
        self, request: HttpRequest, queryset: models.QuerySet[Any], search_term: str
    ) -> tuple[models.QuerySet[Any], bool]:
        """Return what is found for the words as typed or folded."""
        typed, typed_twice = super().get_search_results(request, queryset, search_term)
        folded = " ".join(search_words(search_term))
        if folded == search_term:
            return typed, typed_twice
        plain, plain_twice = super().get_search_results(request, queryset, folded)
        return typed | plain, typed_twice or plain_twice


class KeptAdmin(FoldedSearchAdmin):
    """What happened is kept: it can be read and searched here, and goes only with what it belongs to."""

    def get_fields(self, request: HttpRequest, obj: models.Model | None = None) -> Sequence[Any]:
        """Show every column, where the table names no choice of its own."""
        columns = self.model._meta.concrete_fields  # noqa: SLF001 - Django's own documented way to them
        return self.fields or [column.name for column in columns if not column.primary_key]

    def get_readonly_fields(self, request: HttpRequest, obj: models.Model | None = None) -> Sequence[str]:
        """Show all that the page shows as text, columns that Django fills by itself included."""
        return flatten_fieldsets(self.get_fieldsets(request, obj))

    def has_add_permission(self, request: HttpRequest) -> bool:
        """Rows are written by the product, where the rules hold."""
        return False

    def has_change_permission(self, request: HttpRequest, obj: models.Model | None = None) -> bool:
        """Nobody changes what happened."""
        return False


class KeptInline(admin.TabularInline):
    """Kept rows beneath what they belong to."""

    extra = 0
    can_delete = False

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> Sequence[str]:
        """Show all columns as text, those that Django fills by itself included."""
        return self.fields

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Rows are written by the product, where the rules hold."""
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Nobody changes what happened."""
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """It goes only with what it belongs to."""
        return False

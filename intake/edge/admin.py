"""Ways in which records appear in the owner's back room."""

from collections.abc import Sequence
from typing import Any

from django.contrib import admin
from django.contrib.admin.utils import flatten_fieldsets
from django.db import models
from django.http import HttpRequest

from intake.folding import search_words


class FoldedSearchAdmin(admin.ModelAdmin):
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

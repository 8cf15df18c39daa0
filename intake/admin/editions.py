"""What owners changed in the catalogue, and every version that was ever asked."""

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils.translation import gettext_lazy as _

from intake.edge.admin import KeptAdmin
from intake.models import CatalogueEdition, CatalogueVersion


@admin.register(CatalogueEdition)
class CatalogueEditionAdmin(KeptAdmin):
    """Editions as they were published; they are written on the studio's catalogue page."""

    list_display = ["number", "state", "base_version", "note", "made_by", "published_at"]
    list_filter = ["state", "published_at"]
    list_select_related = ["made_by"]
    search_fields = ["note"]
    fieldsets = [
        (None, {"fields": ["number", "state", "base_version", "note"]}),
        (_("Who and when"), {"fields": ["made_at", "made_by", "published_at", "published_by"]}),
        (_("Changes"), {"fields": ["overlay"]}),
    ]


@admin.register(CatalogueVersion)
class CatalogueVersionAdmin(KeptAdmin):
    """Versions as they were asked; answers are read by them."""

    list_display = ["version", "kept_at"]
    list_filter = ["kept_at"]
    search_fields = ["version"]
    fields = ["version", "kept_at", "digest"]

    def get_queryset(self, request: HttpRequest) -> QuerySet[CatalogueVersion]:
        """Leave the long columns where they are: no page here shows them."""
        return super().get_queryset(request).defer("document", "words")

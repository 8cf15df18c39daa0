"""What riders and workshops said about repairs, and the photos that came with it."""

from django.contrib import admin
from django.utils.translation import gettext_lazy as _

from intake.edge.admin import KeptAdmin
from intake.models import Photo, RepairReport


@admin.register(RepairReport)
class RepairReportAdmin(KeptAdmin):
    """All reports on repairs: who said what, and when."""

    list_display = ["pre_visit", "finding_key", "source", "outcome", "done_by", "note", "reported_at"]
    list_filter = ["source", "outcome", "done_by", "reported_at"]
    list_select_related = ["pre_visit__client", "pre_visit__bike"]
    search_fields = ["pre_visit__client__search_text", "finding_key", "note"]
    date_hierarchy = "reported_at"
    fieldsets = [
        (None, {"fields": ["pre_visit", "finding_key", "outcome", "note", "photo"]}),
        (_("Whose word it is"), {"fields": ["source", "reporter_name", "done_by", "since_decision", "reported_at"]}),
    ]


@admin.register(Photo)
class PhotoAdmin(KeptAdmin):
    """Photos by size and rider; deleting one deletes its file."""

    list_display = ["pre_visit", "width_px", "height_px", "size_bytes", "added_at"]
    list_filter = ["added_at"]
    list_select_related = ["pre_visit__client", "pre_visit__bike"]
    search_fields = ["pre_visit__client__search_text"]
    date_hierarchy = "added_at"
    fields = ["pre_visit", "width_px", "height_px", "size_bytes", "added_at"]

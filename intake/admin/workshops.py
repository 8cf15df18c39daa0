"""Workshops, and the job sheets that went to them."""

from django.contrib import admin
from django.utils.translation import gettext_lazy as _

from intake.edge.admin import FoldedSearchAdmin, KeptAdmin, KeptInline
from intake.models import JobAnswer, JobLine, JobLink, JobLinkRequest, JobSheet, Workshop


@admin.register(Workshop)
class WorkshopAdmin(FoldedSearchAdmin):
    """Workshops that the studio knows; the desk keeps them on its own pages."""

    list_display = ["name", "email", "phone", "is_active"]
    list_filter = ["is_active"]
    search_fields = ["name", "email"]
    readonly_fields = ["created_at"]


class JobLineInline(KeptInline):
    """What the sheet asks for."""

    model = JobLine
    fields = ["position", "title", "wrong", "needs"]


@admin.register(JobSheet)
class JobSheetAdmin(KeptAdmin):
    """Job sheets: for whom, by whom, and what the rider lets the workshop know."""

    list_display = ["pre_visit", "workshop_name", "created_at", "created_by"]
    list_filter = ["created_at"]
    list_select_related = ["pre_visit__client", "pre_visit__bike", "created_by"]
    search_fields = ["pre_visit__client__search_text", "workshop_name"]
    date_hierarchy = "created_at"
    fieldsets = [
        (None, {"fields": ["pre_visit", "created_at", "created_by"]}),
        (_("Workshop"), {"fields": ["workshop", "workshop_name", "workshop_email", "note"]}),
        (_("What the rider shares"), {"fields": ["share_name", "share_phone", "share_email"]}),
    ]
    inlines = [JobLineInline]


@admin.register(JobLink)
class JobLinkAdmin(KeptAdmin):
    """Links of workshops; they are closed and made on the sheet's page at the desk."""

    list_display = ["job_sheet", "created_at", "expires_at", "revoked_at"]
    list_filter = ["revoked_at", "expires_at"]
    list_select_related = ["job_sheet"]
    search_fields = ["job_sheet__workshop_name"]
    fields = ["job_sheet", "created_at", "expires_at", "revoked_at"]


@admin.register(JobLine)
class JobLineAdmin(KeptAdmin):
    """Single lines of all job sheets."""

    list_display = ["job_sheet", "position", "title", "finding_key"]
    list_select_related = ["job_sheet"]
    search_fields = ["title", "finding_key", "job_sheet__workshop_name"]
    fieldsets = [
        (None, {"fields": ["job_sheet", "position", "finding_key", "title"]}),
        (_("What it says"), {"fields": ["wrong", "needs", "work", "part", "caution"]}),
        (_("Weight and time"), {"fields": ["not_to_ride", "lead_days"]}),
    ]


@admin.register(JobAnswer)
class JobAnswerAdmin(KeptAdmin):
    """What workshops answered."""

    list_display = ["line", "outcome", "note", "answered_by", "answered_at"]
    list_filter = ["outcome", "answered_at"]
    list_select_related = ["line"]
    search_fields = ["line__title", "note", "answered_by"]
    date_hierarchy = "answered_at"


@admin.register(JobLinkRequest)
class JobLinkRequestAdmin(KeptAdmin):
    """Requests for a new link."""

    list_display = ["job_sheet", "asked_at"]
    list_select_related = ["job_sheet"]
    search_fields = ["job_sheet__workshop_name"]

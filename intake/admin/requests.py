"""What riders were asked for besides the whole check, and what they said of a complaint after a repair."""

from django.contrib import admin

from intake.edge.admin import KeptAdmin
from intake.models import ComplaintOutcome, QuestionRequest


@admin.register(QuestionRequest)
class QuestionRequestAdmin(KeptAdmin):
    """A few questions that the desk has mailed to a rider."""

    list_display = ["pre_visit", "__str__", "asked_at", "asked_by"]
    list_filter = ["asked_at", "asked_by"]
    list_select_related = ["pre_visit__client", "pre_visit__bike", "asked_by"]
    search_fields = ["pre_visit__client__search_text"]
    date_hierarchy = "asked_at"


@admin.register(ComplaintOutcome)
class ComplaintOutcomeAdmin(KeptAdmin):
    """Complaints before and after a fault beside them was put right."""

    list_display = ["pre_visit", "area", "side", "finding_key", "rode", "score_before", "score_now", "answered_at"]
    list_filter = ["area", "side", "rode", "answered_at"]
    list_select_related = ["pre_visit__client", "pre_visit__bike"]
    search_fields = ["pre_visit__client__search_text", "finding_key"]
    date_hierarchy = "answered_at"

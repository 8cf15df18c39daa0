"""Pre-visit checks with everything said and decided, and each kind of row by itself, to compare riders."""

from django.contrib import admin
from django.utils.translation import gettext_lazy as _

from intake.edge.admin import KeptAdmin, KeptInline
from intake.models import CheckAnswer, Discomfort, FindingDecision, PreVisitCheck, RedFlagNote, TriageSummary


class AnswerInline(KeptInline):
    """What the rider answered."""

    model = CheckAnswer
    fields = ["check_key", "option", "lengths_mm", "note", "answered_at", "answered_by", "catalogue_version"]


class DiscomfortInline(KeptInline):
    """What hurt, before and after."""

    model = Discomfort
    fields = ["phase", "area", "side", "score", "after_min", "note"]


class DecisionInline(KeptInline):
    """What was decided on findings."""

    model = FindingDecision
    fields = ["finding_key", "ruling", "note", "decided_at", "decided_by"]


class RedFlagInline(KeptInline):
    """What was agreed about red flags."""

    model = RedFlagNote
    fields = ["note", "noted_at", "noted_by"]


class SummaryInline(KeptInline):
    """What the triage last said."""

    model = TriageSummary
    fields = ["verdict", "stopped", "readiness_pct", "chance_to_plan", "expected_bench_min", "reason", "computed_on"]


@admin.register(PreVisitCheck)
class PreVisitCheckAdmin(KeptAdmin):
    """Pre-visit checks with everything said and decided. Answers are changed at the desk, where the triage follows."""

    list_display = ["client", "bike", "created_at", "submitted_at", "verdict"]
    list_filter = ["submitted_at", "summary__verdict", "no_discomfort"]
    list_select_related = ["client", "bike", "summary"]
    search_fields = ["client__search_text", "bike__name"]
    date_hierarchy = "created_at"
    fields = ["client", "bike", "created_at", "submitted_at", "no_discomfort", "note"]
    inlines = [SummaryInline, AnswerInline, DiscomfortInline, DecisionInline, RedFlagInline]

    @admin.display(description=_("verdict"), ordering="summary__verdict")
    def verdict(self, pre_visit: PreVisitCheck) -> str:
        """Return the last verdict."""
        return pre_visit.summary.verdict if hasattr(pre_visit, "summary") else "–"


@admin.register(CheckAnswer)
class CheckAnswerAdmin(KeptAdmin):
    """All answers, to compare riders."""

    list_display = ["pre_visit", "check_key", "option", "note", "answered_at"]
    list_filter = ["check_key", "catalogue_version", "answered_at"]
    list_select_related = ["pre_visit__client", "pre_visit__bike"]
    search_fields = ["pre_visit__client__search_text", "check_key", "option"]


@admin.register(Discomfort)
class DiscomfortAdmin(KeptAdmin):
    """All discomfort, to compare areas."""

    list_display = ["pre_visit", "phase", "area", "side", "score", "after_min"]
    list_filter = ["phase", "area", "side", "score"]
    list_select_related = ["pre_visit__client", "pre_visit__bike"]
    search_fields = ["pre_visit__client__search_text", "area"]


@admin.register(FindingDecision)
class FindingDecisionAdmin(KeptAdmin):
    """All decisions on findings: who and when."""

    list_display = ["pre_visit", "finding_key", "ruling", "note", "decided_at", "decided_by"]
    list_filter = ["ruling", "decided_at", "decided_by"]
    list_select_related = ["pre_visit__client", "pre_visit__bike", "decided_by"]
    search_fields = ["pre_visit__client__search_text", "finding_key", "note"]
    date_hierarchy = "decided_at"


@admin.register(RedFlagNote)
class RedFlagNoteAdmin(KeptAdmin):
    """What was agreed about red flags."""

    list_display = ["pre_visit", "note", "noted_at", "noted_by"]
    list_filter = ["noted_at", "noted_by"]
    list_select_related = ["pre_visit__client", "pre_visit__bike", "noted_by"]
    search_fields = ["pre_visit__client__search_text", "note"]


@admin.register(TriageSummary)
class TriageSummaryAdmin(KeptAdmin):
    """What the triage last said about each session."""

    list_display = ["pre_visit", "verdict", "stopped", "readiness_pct", "chance_to_plan", "decision_due_on"]
    list_filter = ["verdict", "stopped", "decision_due_on", "catalogue_version"]
    list_select_related = ["pre_visit__client", "pre_visit__bike"]
    search_fields = ["pre_visit__client__search_text", "reason"]
    fieldsets = [
        (None, {"fields": ["pre_visit", "verdict", "stopped", "reason", "decision_due_on"]}),
        (_("Forecast"), {"fields": ["readiness_pct", "chance_to_plan", "expected_bench_min"]}),
        (_("Counts"), {"fields": ["open_findings", "unanswered"]}),
        (_("Computed"), {"fields": ["computed_on", "catalogue_version"]}),
    ]

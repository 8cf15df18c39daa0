"""Sessions and their history. Times and states change at the desk, where the diary's rules hold."""

from datetime import UTC, datetime

from django.contrib import admin
from django.http import HttpRequest
from django.utils.translation import gettext_lazy as _

from intake.edge.admin import FoldedSearchAdmin, KeptAdmin, KeptInline
from sessions.diary.quanta import QUANTUM_MIN
from sessions.models import FitSession, Occupancy, SlotDecision, StateChange


class StateChangeInline(KeptInline):
    """The session's history."""

    model = StateChange
    fields = ["changed_at", "from_state", "to_state", "changed_by", "note"]


class SlotDecisionInline(KeptInline):
    """What was decided about the slot."""

    model = SlotDecision
    fields = ["decided_at", "choice", "extra_min", "decided_by", "note"]


@admin.register(FitSession)
class FitSessionAdmin(FoldedSearchAdmin):
    """Sessions. Who, where and when is read-only here: the diary alone keeps the times of fitters and bays right."""

    list_display = ["starts_at", "client", "service", "fitter", "bay", "state"]
    list_filter = ["state", "studio", "service", "fitter", "bay", "starts_at"]
    list_select_related = ["client", "service", "fitter", "bay"]
    search_fields = ["client__search_text", "bike__name"]
    date_hierarchy = "starts_at"
    readonly_fields = [
        *("studio", "service", "client", "bike", "fitter", "bay", "pre_visit", "state", "starts_at", "ends_at"),
        *("planned_min", "slack_min", "buffer_before_min", "buffer_after_min", "uid", "sequence", "request_key"),
        "created_at",
    ]
    fieldsets = [
        (None, {"fields": ["client", "bike", "service", "state", "wish"]}),
        (_("When and where"), {"fields": ["studio", ("starts_at", "ends_at"), ("fitter", "bay")]}),
        (_("Minutes"), {"fields": [("planned_min", "slack_min"), ("buffer_before_min", "buffer_after_min")]}),
        (_("Kept with it"), {"fields": ["pre_visit", "created_at", "uid", "sequence", "request_key"]}),
    ]
    inlines = [StateChangeInline, SlotDecisionInline]

    def has_add_permission(self, request: HttpRequest) -> bool:
        """Sessions are booked at the desk or by riders."""
        return False


@admin.register(StateChange)
class StateChangeAdmin(KeptAdmin):
    """Every step of every session: who and when."""

    list_display = ["fit_session", "from_state", "to_state", "changed_at", "changed_by", "note"]
    list_filter = ["to_state", "changed_at", "changed_by"]
    list_select_related = ["fit_session__client", "fit_session__service", "changed_by"]
    search_fields = ["fit_session__client__search_text", "note"]
    date_hierarchy = "changed_at"


@admin.register(SlotDecision)
class SlotDecisionAdmin(KeptAdmin):
    """Every decision on a slot: who and when."""

    list_display = ["fit_session", "choice", "extra_min", "decided_at", "decided_by", "note"]
    list_filter = ["choice", "decided_at", "decided_by"]
    list_select_related = ["fit_session__client", "fit_session__service", "decided_by"]
    search_fields = ["fit_session__client__search_text", "note"]
    date_hierarchy = "decided_at"


@admin.register(Occupancy)
class OccupancyAdmin(KeptAdmin):
    """The five-minute pieces of time that refuse an overlap."""

    list_display = ["starts", "fitter", "bay", "fit_session"]
    list_display_links = ["starts"]
    list_filter = ["fitter", "bay"]
    list_select_related = ["fitter", "bay", "fit_session__client", "fit_session__service"]
    search_fields = ["fit_session__client__search_text"]
    fields = ["fit_session", "fitter", "bay", "starts"]
    show_full_result_count = False

    @admin.display(description=_("starts"), ordering="quantum")
    def starts(self, piece: Occupancy) -> datetime:
        """Return when the piece begins."""
        return datetime.fromtimestamp(piece.quantum * QUANTUM_MIN * 60, UTC)

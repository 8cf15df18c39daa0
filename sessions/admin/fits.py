"""Fit records: what was measured and changed. It is written at the bench and kept as it was."""

from django.contrib import admin
from django.utils.translation import gettext_lazy as _

from intake.edge.admin import FoldedSearchAdmin, KeptAdmin, KeptInline
from sessions.models import (
    BodyMeasure,
    ClosingStep,
    ComponentChange,
    FitRecord,
    PartToOrder,
    Reading,
    SafetyEntry,
    SolvedPosition,
    TimeLoss,
)


class ReadingInline(KeptInline):
    """Every reading ever taken, replaced ones too."""

    model = Reading
    fields = ["phase", "quantity", "value", "sigma", "instrument", "as_typed", "taken_at", "taken_by", "replaced_at"]


class BodyMeasureInline(KeptInline):
    """Lengths of the rider's body."""

    model = BodyMeasure
    fields = ["measure", "value_mm", "as_typed"]


class ComponentChangeInline(KeptInline):
    """Parts exchanged or re-set."""

    model = ComponentChange
    fields = ["component", "was", "now", "note"]


class PartToOrderInline(KeptInline):
    """Parts that the rider still needs."""

    model = PartToOrder
    fields = ["part", "why"]


class SafetyEntryInline(KeptInline):
    """The closing safety list."""

    model = SafetyEntry
    fields = ["item", "state", "torque_as_printed", "note", "entered_by"]


class TimeLossInline(KeptInline):
    """What ate time."""

    model = TimeLoss
    fields = ["finding_key", "minutes", "note"]


class ClosingStepInline(KeptInline):
    """When the record was closed and opened again."""

    model = ClosingStep
    fields = ["kind", "note", "taken_at", "taken_by"]


@admin.register(FitRecord)
class FitRecordAdmin(FoldedSearchAdmin):
    """Fit records. Notes and the next visit can be put right here; what was measured stays."""

    list_display = ["fit_session", "started_at", "closed_at", "closed_by", "follow_up_on"]
    list_filter = ["closed_at", "closed_by", "follow_up_on"]
    list_select_related = ["fit_session__client", "fit_session__service", "closed_by"]
    search_fields = ["fit_session__client__search_text", "notes"]
    date_hierarchy = "started_at"
    readonly_fields = ["fit_session", "started_at", "closed_at", "closed_by", "pitch_deg"]
    fieldsets = [
        (None, {"fields": ["fit_session", ("started_at", "closed_at", "closed_by"), "pitch_deg"]}),
        (_("For the rider"), {"fields": ["notes", "follow_up_on", "follow_up_note"]}),
    ]
    inlines = [
        *(BodyMeasureInline, ReadingInline, ComponentChangeInline),
        *(PartToOrderInline, SafetyEntryInline, TimeLossInline, ClosingStepInline),
    ]

    def has_add_permission(self, request: object) -> bool:
        """A record begins at the bench."""
        return False


class OfRecordAdmin(KeptAdmin):
    """Rows of all fit records, found by the rider."""

    list_select_related = ["fit_record__fit_session__client", "fit_record__fit_session__service"]
    search_fields = ["fit_record__fit_session__client__search_text"]


@admin.register(Reading)
class ReadingAdmin(OfRecordAdmin):
    """All readings, to compare instruments and hands."""

    list_display = ["fit_record", "phase", "quantity", "value", "sigma", "instrument", "taken_at", "replaced_at"]
    list_filter = ["phase", "instrument", "quantity", "taken_at"]
    fieldsets = [
        (None, {"fields": ["fit_record", "phase", "quantity"]}),
        (_("Value"), {"fields": ["value", "sigma", "instrument", "as_typed"]}),
        (_("Taken"), {"fields": ["taken_at", "taken_by", "replaced_at"]}),
    ]


@admin.register(SolvedPosition)
class SolvedPositionAdmin(OfRecordAdmin):
    """Where the contact points were, as computed."""

    list_display = ["fit_record", "phase", "solved_at"]
    list_filter = ["phase", "solved_at"]


@admin.register(BodyMeasure)
class BodyMeasureAdmin(OfRecordAdmin):
    """All body measures."""

    list_display = ["fit_record", "measure", "value_mm", "taken_at"]
    list_filter = ["measure"]


@admin.register(ComponentChange)
class ComponentChangeAdmin(OfRecordAdmin):
    """All parts exchanged or re-set."""

    list_display = ["fit_record", "component", "was", "now", "note"]
    list_filter = ["component"]


@admin.register(PartToOrder)
class PartToOrderAdmin(OfRecordAdmin):
    """All parts that riders still need."""

    list_display = ["part", "why", "fit_record"]


@admin.register(SafetyEntry)
class SafetyEntryAdmin(OfRecordAdmin):
    """All lines of all closing lists."""

    list_display = ["fit_record", "item", "state", "torque_as_printed", "note", "entered_by"]
    list_filter = ["state", "item", "entered_by"]
    list_select_related = [*OfRecordAdmin.list_select_related, "entered_by"]


@admin.register(TimeLoss)
class TimeLossAdmin(OfRecordAdmin):
    """All lost minutes."""

    list_display = ["fit_record", "finding_key", "minutes", "note"]
    list_filter = ["finding_key"]


@admin.register(ClosingStep)
class ClosingStepAdmin(OfRecordAdmin):
    """All closings of records, and why some were opened again."""

    list_display = ["fit_record", "kind", "note", "taken_at", "taken_by"]
    list_filter = ["kind", "taken_at", "taken_by"]
    list_select_related = [*OfRecordAdmin.list_select_related, "taken_by"]

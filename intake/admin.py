"""Riders, bikes, pre-visit checks and mail in the owner's back room."""

from typing import Any

from django.contrib import admin
from django.db.models import Count, QuerySet
from django.http import HttpRequest
from django.utils import timezone
from django.utils.html import format_html
from django.utils.translation import gettext_lazy as _

from intake.edge.admin import FoldedSearchAdmin, KeptAdmin, KeptInline
from intake.models import (
    Bike,
    CheckAnswer,
    Client,
    Discomfort,
    FindingDecision,
    MailAttachment,
    OutgoingMail,
    PreVisitCheck,
    RedFlagNote,
    RiderLink,
    TriageSummary,
)
from intake.models.mail import MailState
from intake.services.clients import save_client


class BikeInline(admin.TabularInline):
    """A client's bikes by name and kind; the rest stands on the bike's own page, which also asks before it deletes the sessions."""

    model = Bike
    can_delete = False
    fields = ["name", "kind", "frame_size", "saddle"]
    extra = 0
    show_change_link = True


@admin.register(Client)
class ClientAdmin(FoldedSearchAdmin):
    """Riders and how to reach them."""

    list_display = ["name", "latin_name", "email", "phone", "bike_count", "created_at"]
    list_filter = ["length_unit", "created_at"]
    search_fields = ["search_text"]
    search_help_text = _("Name, e-mail or telephone, without accents and capitals")
    fieldsets = [
        (None, {"fields": ["name", "latin_name"]}),
        (_("Reach them"), {"fields": ["email", "phone"]}),
        (_("Preferences and notes"), {"fields": ["length_unit", "notes", "created_at"]}),
    ]
    readonly_fields = ["created_at"]
    inlines = [BikeInline]

    def get_queryset(self, request: HttpRequest) -> QuerySet[Client]:
        """Count the bikes along."""
        # Counting groups the rows, and grouped rows forget the order that the model gives them.
        return super().get_queryset(request).annotate(bikes_known=Count("bikes")).order_by("name", "pk")

    def save_model(self, request: HttpRequest, obj: Client, form: Any, change: bool) -> None:
        """Let mails that have not gone yet follow a new address."""
        save_client(client=obj)

    @admin.display(description=_("bikes"), ordering="bikes_known")
    def bike_count(self, client: Client) -> int:
        """Return how many bikes are known."""
        return client.bikes_known


@admin.register(Bike)
class BikeAdmin(FoldedSearchAdmin):
    """Bikes, with their facts grouped as on the bike itself."""

    list_display = ["name", "client", "kind", "post_kind", "cockpit", "pedal_kind"]
    list_filter = ["kind", "cockpit", "post_kind", "bar_kind", "pedal_kind", "routing"]
    search_fields = ["name", "client__search_text", "saddle"]
    autocomplete_fields = ["client"]
    list_select_related = ["client"]
    readonly_fields = ["created_at"]
    fieldsets = [
        (None, {"fields": ["client", "name", "kind", "frame_size", "indoors"]}),
        (_("Frame"), {"fields": [("head_stack_mm", "head_reach_mm"), ("head_angle_deg", "seat_angle_deg")]}),
        (_("Seat"), {"fields": ["post_kind", ("post_diameter_mm", "post_length_mm"), "saddle"]}),
        (
            _("Front"),
            {
                "fields": [
                    ("cockpit", "bar_kind", "routing"),
                    ("spacers_under_mm", "spacers_over_mm"),
                    ("stem_length_mm", "stem_angle_deg"),
                    ("bar_width_mm", "bar_reach_mm", "bar_drop_mm"),
                ]
            },
        ),
        (
            _("Feet and wheels"),
            {
                "fields": [
                    ("pedal_kind", "crank_length_mm"),
                    ("rim_diameter_mm", "tyre_width_mm"),
                    "axle_standard",
                ]
            },
        ),
        (_("Notes"), {"fields": ["notes", "created_at"]}),
    ]


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


@admin.register(RiderLink)
class RiderLinkAdmin(KeptAdmin):
    """Private links: who has one, and closing it. New ones are made on the client's page at the desk."""

    list_display = ["pre_visit", "created_at", "expires_at", "revoked_at", "is_open_now", "address"]
    list_filter = ["revoked_at", "expires_at"]
    list_select_related = ["pre_visit__client", "pre_visit__bike"]
    search_fields = ["pre_visit__client__search_text"]
    fields = ["pre_visit", "created_at", "expires_at", "revoked_at", "address"]
    actions = ["close_links"]

    @admin.display(description=_("open"), boolean=True)
    def is_open_now(self, link: RiderLink) -> bool:
        """Whether the link opens pages now."""
        return link.is_open

    @admin.display(description=_("address"))
    def address(self, link: RiderLink) -> str:
        """Return the way to the rider's page."""
        return format_html('<a href="{}">{}</a>', link.get_absolute_url(), _("Open the rider’s page"))

    @admin.action(description=_("Close the chosen links"), permissions=["delete"])
    def close_links(self, request: HttpRequest, links: QuerySet[RiderLink]) -> None:
        """Revoke those that are still open."""
        closed = links.filter(revoked_at__isnull=True).update(revoked_at=timezone.now())
        self.message_user(request, _("Links closed: %(count)d.") % {"count": closed})


class AttachmentInline(KeptInline):
    """The files that go with a mail, by name."""

    model = MailAttachment
    fields = ["filename", "media_type"]


@admin.register(OutgoingMail)
class OutgoingMailAdmin(KeptAdmin):
    """The outbox: what was written, whether it went, and trying again."""

    list_display = ["subject", "to", "state", "attempts", "created_at", "send_after", "sent_at"]
    list_filter = ["state", "created_at"]
    search_fields = ["to", "subject", "client__search_text"]
    date_hierarchy = "created_at"
    fieldsets = [
        (None, {"fields": ["client", "to", "subject", "body"]}),
        (_("Sending"), {"fields": ["state", "send_after", "sent_at", "attempts", "last_error"]}),
        (_("Occasion"), {"fields": ["key", "created_at"]}),
    ]
    inlines = [AttachmentInline]
    actions = ["try_again", "drop"]

    @admin.action(description=_("Try the chosen mails again"), permissions=["delete"])
    def try_again(self, request: HttpRequest, mails: QuerySet[OutgoingMail]) -> None:
        """Put those that were given up or dropped back into the queue; the worker's next sweep sends them."""
        back = mails.filter(state__in=[MailState.FAILED, MailState.DROPPED])
        count = back.update(state=MailState.QUEUED, attempts=0, send_after=None)
        self.message_user(request, _("Mails back in the queue: %(count)d.") % {"count": count})

    @admin.action(description=_("Do not send the chosen mails"), permissions=["delete"])
    def drop(self, request: HttpRequest, mails: QuerySet[OutgoingMail]) -> None:
        """Drop those that have not been sent."""
        count = mails.exclude(state=MailState.SENT).update(state=MailState.DROPPED)
        self.message_user(request, _("Mails dropped: %(count)d.") % {"count": count})


@admin.register(MailAttachment)
class MailAttachmentAdmin(KeptAdmin):
    """Files that went with mails; their content is opened on the desk's mail page."""

    list_display = ["filename", "media_type", "mail"]
    list_filter = ["media_type"]
    list_select_related = ["mail"]
    search_fields = ["filename", "mail__to", "mail__subject"]
    fields = ["mail", "filename", "media_type"]

    def get_queryset(self, request: HttpRequest) -> QuerySet[MailAttachment]:
        """Leave the content in the database."""
        return super().get_queryset(request).defer("content")

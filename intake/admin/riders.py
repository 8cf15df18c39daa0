"""Riders, their bikes and their private links."""

from typing import Any

from django.contrib import admin
from django.db.models import Count, QuerySet
from django.http import HttpRequest
from django.utils import timezone
from django.utils.html import format_html
from django.utils.translation import gettext_lazy as _

from intake.edge.admin import FoldedSearchAdmin, KeptAdmin
from intake.models import Bike, Client, RiderLink
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

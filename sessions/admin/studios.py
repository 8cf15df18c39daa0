"""Where, when, who, and what is offered: the settings of a studio."""

from django.contrib import admin
from django.utils.translation import gettext_lazy as _

from sessions.admin.studio_forms import ServiceForm, StudioForm
from sessions.models import Bay, Closure, Fitter, OpeningHours, Service, Studio


class OpeningHoursInline(admin.TabularInline):
    """The weekly pattern."""

    model = OpeningHours
    extra = 0


class ClosureInline(admin.TabularInline):
    """Days on which nobody is there."""

    model = Closure
    extra = 0


class FitterInline(admin.TabularInline):
    """Who takes sessions."""

    model = Fitter
    extra = 0
    autocomplete_fields = ["user"]


class BayInline(admin.TabularInline):
    """Where a bike can stand."""

    model = Bay
    extra = 0


@admin.register(Studio)
class StudioAdmin(admin.ModelAdmin):
    """A studio with its hours, closures, fitters and bays on one page."""

    form = StudioForm
    list_display = ["name", "time_zone", "email", "phone", "is_active"]
    list_filter = ["is_active", "country"]
    search_fields = ["name", "slug", "address", "email"]
    prepopulated_fields = {"slug": ["name"]}
    fieldsets = [
        (None, {"fields": ["name", "slug", "is_active", "welcome"]}),
        (_("Where"), {"fields": ["address", "email", "phone", "time_zone", "country", "region"]}),
        (_("Booking"), {"fields": ["grid_min", "notice_hours", "horizon_days", "currency"]}),
        (
            _("When a session needs a decision"),
            {
                "description": _("Shares between 0 and 1. They move the border between verdicts for every session."),
                "fields": ["least_chance", "ask_gain", "unsure_locked", "probably_locked", "reckoned_from"],
            },
        ),
        (_("Print"), {"fields": ["paper"]}),
    ]
    inlines = [OpeningHoursInline, ClosureInline, FitterInline, BayInline]


@admin.register(Service)
class ServiceAdmin(admin.ModelAdmin):
    """What riders can book."""

    form = ServiceForm
    list_display = ["name", "studio", "planned_min", "slack_min", "buffer_after_min", "price", "position", "is_active"]
    list_editable = ["position", "is_active"]
    list_filter = ["studio", "is_active"]
    list_select_related = ["studio"]
    search_fields = ["name", "purpose"]
    prepopulated_fields = {"slug": ["name"]}
    fieldsets = [
        (None, {"fields": ["studio", "name", "slug", "purpose", "price", "position", "is_active"]}),
        (
            _("Time"),
            {
                "description": _("In steps of five minutes. Sessions already booked keep their own times."),
                "fields": [("planned_min", "slack_min"), ("buffer_before_min", "buffer_after_min")],
            },
        ),
        (_("What it must be able to move"), {"fields": ["essential"]}),
        (_("Afterwards"), {"fields": ["follow_up_days"]}),
    ]


@admin.register(OpeningHours)
class OpeningHoursAdmin(admin.ModelAdmin):
    """Opening hours of all studios."""

    list_display = ["studio", "weekday", "opens", "closes"]
    list_display_links = ["weekday"]
    list_filter = ["studio", "weekday"]
    list_select_related = ["studio"]


@admin.register(Closure)
class ClosureAdmin(admin.ModelAdmin):
    """Closures of all studios."""

    list_display = ["first_day", "last_day", "reason", "studio"]
    list_filter = ["studio", "first_day"]
    list_select_related = ["studio"]
    search_fields = ["reason"]


@admin.register(Fitter)
class FitterAdmin(admin.ModelAdmin):
    """Who takes sessions, and their log-in."""

    list_display = ["name", "studio", "user", "is_active"]
    list_filter = ["studio", "is_active"]
    list_select_related = ["studio", "user"]
    search_fields = ["name", "user__username"]
    autocomplete_fields = ["user"]


@admin.register(Bay)
class BayAdmin(admin.ModelAdmin):
    """Where bikes stand."""

    list_display = ["name", "studio", "is_active"]
    list_filter = ["studio", "is_active"]
    list_select_related = ["studio"]
    search_fields = ["name"]

"""What the triage said at booking, at three days and on the day."""

from django.contrib import admin
from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils.translation import gettext_lazy as _

from intake.edge.admin import KeptAdmin
from intake.models import TriageSnapshot


@admin.register(TriageSnapshot)
class TriageSnapshotAdmin(KeptAdmin):
    """The three moments of every session; the distributions themselves go out with the figures' downloads."""

    list_display = ["pre_visit", "moment", "verdict", "stopped", "readiness_pct", "expected_bench_min", "taken_at"]
    list_filter = ["moment", "verdict", "stopped", "taken_at", "catalogue_version"]
    list_select_related = ["pre_visit__client", "pre_visit__bike"]
    search_fields = ["pre_visit__client__search_text"]
    fieldsets = [
        (None, {"fields": ["pre_visit", "moment", "verdict", "stopped", "taken_at"]}),
        (_("Forecast"), {"fields": ["readiness_pct", "chance_to_plan", "expected_bench_min"]}),
        (_("Session"), {"fields": ["planned_min", "slack_min", "catalogue_version"]}),
    ]

    def get_queryset(self, request: HttpRequest) -> QuerySet[TriageSnapshot]:
        """Leave the long columns where they are: no page here shows them."""
        return super().get_queryset(request).defer("forecast", "prior_forecast")

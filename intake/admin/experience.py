"""What closed sessions taught, as it is counted. It follows from the sessions, so nothing of it is changed by hand."""

from django.contrib import admin
from django.db import models
from django.http import HttpRequest
from django.utils.translation import gettext_lazy as _

from intake.edge.admin import KeptAdmin
from intake.models import FaultExperience, ForecastOutcome, LearningWeights, MonthlyLoss, SessionLesson


class CountedAdmin(KeptAdmin):
    """Counts stay: they belong to no rider."""

    def has_delete_permission(self, request: HttpRequest, obj: models.Model | None = None) -> bool:
        """Nobody takes what was learned away."""
        return False


@admin.register(LearningWeights)
class LearningWeightsAdmin(CountedAdmin):
    """The weights are set on the page of the studio's experience, which shows what they do."""

    list_display = ["__str__", "sessions", "faults"]


@admin.register(FaultExperience)
class FaultExperienceAdmin(CountedAdmin):
    """Counts of each fault."""

    list_display = ["finding_key", "seen", "faults", "times"]
    search_fields = ["finding_key"]


@admin.register(MonthlyLoss)
class MonthlyLossAdmin(CountedAdmin):
    """Minutes by month and fault."""

    list_display = [
        *("month", "finding_key", "times", "planned_min", "told_in_time_min", "told_late_min"),
        *("not_shown_min", "not_answered_min"),
    ]
    list_filter = ["month"]
    search_fields = ["finding_key"]


@admin.register(ForecastOutcome)
class ForecastOutcomeAdmin(CountedAdmin):
    """Forecasts held against what happened, without riders."""

    list_display = ["month", "verdict", "slack_min", "lost_min", "within90", "crps", "crps_prior"]
    list_filter = ["month", "verdict", "within90"]
    fieldsets = [
        (None, {"fields": ["month", "verdict", "planned_min", "slack_min", "lost_min", "other_min"]}),
        (_("Forecast"), {"fields": ["pit_low", "pit_high", "within90", "band_chance", "chance"]}),
        (_("Scores"), {"fields": ["crps", "crps_prior"]}),
    ]


@admin.register(SessionLesson)
class SessionLessonAdmin(KeptAdmin):
    """What each session contributed; it goes with its rider."""

    list_display = ["pre_visit", "month", "outcome", "learned_at"]
    list_filter = ["month"]
    list_select_related = ["pre_visit__client", "pre_visit__bike", "outcome"]
    search_fields = ["pre_visit__client__search_text"]

"""What the triage said of a session at three moments, kept so that forecasts can be held against what happened."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from intake.models.previsit import PreVisitCheck


class SnapshotMoment(models.TextChoices):
    """When it was taken. A session that is booked late has the later moments at once."""

    BOOKING = "booking", _("at booking")
    THREE_DAYS = "three_days", _("three days before")
    DAY = "day", _("on the day")


DAYS_BEFORE = {SnapshotMoment.THREE_DAYS: 3, SnapshotMoment.DAY: 0}


class TriageSnapshot(models.Model):
    """One moment's triage. Written once, never changed; it goes with the rider's check.

    ``forecast`` holds the probability of 0, 1, 2 … bench minutes, the last cell that minute and more; ``prior_forecast`` the same
    by the catalogue's own rates and minutes, without what the studio has learned.
    """

    pre_visit = models.ForeignKey(
        PreVisitCheck, models.CASCADE, related_name="snapshots", verbose_name=_("pre-visit check")
    )
    moment = models.CharField(_("moment"), max_length=10, choices=SnapshotMoment)
    verdict = models.CharField(_("verdict"), max_length=20)
    stopped = models.BooleanField(_("stopped by a red flag"), default=False)
    readiness_pct = models.FloatField(_("readiness (%)"))
    chance_to_plan = models.FloatField(_("chance to run to plan"))
    expected_bench_min = models.FloatField(_("expected bench minutes"))
    planned_min = models.PositiveSmallIntegerField(_("planned hands-on minutes"))
    slack_min = models.PositiveSmallIntegerField(_("slack minutes"))
    forecast = models.JSONField(_("forecast"))
    prior_forecast = models.JSONField(_("forecast without experience"))
    catalogue_version = models.CharField(_("catalogue version"), max_length=30)
    taken_at = models.DateTimeField(_("taken"))

    class Meta:
        verbose_name = _("triage at a moment")
        verbose_name_plural = _("triage at moments")
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["pre_visit", "moment"], name="snapshot_once_per_moment"),
            models.CheckConstraint(condition=Q(moment__in=SnapshotMoment.values), name="snapshot_moment_known"),
            models.CheckConstraint(condition=Q(readiness_pct__range=(0, 100)), name="snapshot_readiness_is_percent"),
            models.CheckConstraint(condition=Q(chance_to_plan__range=(0, 1)), name="snapshot_chance_is_probability"),
            models.CheckConstraint(condition=Q(planned_min__gt=0), name="snapshot_has_hands_on_minutes"),
        ]

    def __str__(self) -> str:
        return f"{self.get_moment_display()}: {self.verdict} ({self.readiness_pct:.0f} %)"

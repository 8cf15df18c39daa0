"""The pre-visit check of one session: answers, discomfort, and what the triage made of them."""

import math

from django.conf import settings
from django.core.validators import MaxValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from intake.models.bikes import Bike
from intake.models.clients import Client


class PreVisitCheck(models.Model):
    """One rider, one bike, one coming session. What the session is, the diary knows; the intake asks for plain values."""

    client = models.ForeignKey(Client, models.CASCADE, related_name="pre_visit_checks", verbose_name=_("client"))
    bike = models.ForeignKey(Bike, models.CASCADE, related_name="pre_visit_checks", verbose_name=_("bike"))
    created_at = models.DateTimeField(_("created"), auto_now_add=True)
    submitted_at = models.DateTimeField(_("submitted"), null=True, blank=True)
    note = models.TextField(_("what the rider wants to say"), blank=True)
    no_discomfort = models.BooleanField(
        _("nothing hurts"), default=False, help_text=_("The rider was asked what hurts, and said that nothing does.")
    )
    reminded_until = models.DateField(
        _("reminders looked at"),
        null=True,
        blank=True,
        editable=False,
        help_text=_("The last day on which it was considered whether to write to the rider."),
    )

    class Meta:
        verbose_name = _("pre-visit check")
        verbose_name_plural = _("pre-visit checks")
        ordering = ["-created_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.client} – {self.bike}"


class CheckAnswer(models.Model):
    """The latest answer to one check. ``option`` may be ``could_not``; ``lengths_mm`` holds measured lengths by field key."""

    pre_visit = models.ForeignKey(
        PreVisitCheck, models.CASCADE, related_name="answers", verbose_name=_("pre-visit check")
    )
    check_key = models.CharField(_("check"), max_length=60)
    option = models.CharField(_("answer"), max_length=60, blank=True)
    lengths_mm = models.JSONField(_("lengths (mm)"), default=dict, blank=True)
    note = models.CharField(_("remark"), max_length=500, blank=True)
    catalogue_version = models.CharField(_("catalogue version"), max_length=30)
    answered_at = models.DateTimeField(_("answered"))
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        verbose_name=_("entered by"),
        help_text=_("Empty where the rider answered."),
    )

    class Meta:
        verbose_name = _("answer")
        verbose_name_plural = _("answers")
        ordering = ["pre_visit", "check_key"]
        constraints = [
            models.UniqueConstraint(fields=["pre_visit", "check_key"], name="answer_once_per_check"),
            models.CheckConstraint(condition=~models.Q(catalogue_version=""), name="answer_names_its_version"),
        ]

    def __str__(self) -> str:
        return f"{self.check_key}: {self.option or self.lengths_mm}"

    def readable_lengths_mm(self) -> dict[str, float]:
        """Return the lengths that are numbers; whatever else stands in the column is left out."""
        lengths = self.lengths_mm if isinstance(self.lengths_mm, dict) else {}
        return {key: float(value) for key, value in lengths.items() if _is_number(value)}


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


class Side(models.TextChoices):
    """A side of the body, from the rider's own point of view."""

    NONE = "", _("no side")
    LEFT = "left", _("left")
    RIGHT = "right", _("right")
    BOTH = "both", _("both")


class Phase(models.TextChoices):
    """Before or after the session's changes."""

    BEFORE = "before", _("before")
    AFTER = "after", _("after")


SEVERE_FROM = 8  # common practice, no source: a score from which the rider is sent to a clinician first


class Discomfort(models.Model):
    """Discomfort in one body area on a 0–10 numeric rating scale."""

    pre_visit = models.ForeignKey(
        PreVisitCheck, models.CASCADE, related_name="discomforts", verbose_name=_("pre-visit check")
    )
    phase = models.CharField(_("phase"), max_length=6, choices=Phase, default=Phase.BEFORE)
    area = models.CharField(_("body area"), max_length=40)
    side = models.CharField(_("side"), max_length=5, choices=Side, blank=True)
    score = models.PositiveSmallIntegerField(_("0 to 10"), validators=[MaxValueValidator(10)])
    after_min = models.PositiveSmallIntegerField(_("after how many minutes of riding"), null=True, blank=True)
    note = models.CharField(_("remark"), max_length=500, blank=True)
    recorded_at = models.DateTimeField(_("recorded"), auto_now=True)

    class Meta:
        verbose_name = _("discomfort")
        verbose_name_plural = _("discomforts")
        ordering = ["pre_visit", "phase", "area", "side"]
        constraints = [
            models.UniqueConstraint(fields=["pre_visit", "phase", "area", "side"], name="discomfort_once_per_place"),
            models.CheckConstraint(condition=models.Q(score__lte=10), name="discomfort_score_0_to_10"),
            models.CheckConstraint(condition=models.Q(phase__in=Phase.values), name="discomfort_phase_known"),
            models.CheckConstraint(condition=models.Q(side__in=Side.values), name="discomfort_side_known"),
        ]

    def __str__(self) -> str:
        return f"{self.area} {self.side} {self.score}"

    @property
    def is_severe(self) -> bool:
        """Return whether it belongs with a doctor or physiotherapist before a session."""
        return self.score >= SEVERE_FROM


class TriageSummary(models.Model):
    """What the triage last said, so that lists need not compute it again. The session's page always computes afresh."""

    pre_visit = models.OneToOneField(
        PreVisitCheck, models.CASCADE, related_name="summary", verbose_name=_("pre-visit check")
    )
    verdict = models.CharField(_("verdict"), max_length=20)
    stopped = models.BooleanField(_("stopped by a red flag"), default=False)
    readiness_pct = models.FloatField(_("readiness (%)"))
    chance_to_plan = models.FloatField(_("chance to run to plan"))
    expected_bench_min = models.FloatField(_("expected bench minutes"))
    open_findings = models.PositiveSmallIntegerField(_("findings without a decision"), default=0)
    unanswered = models.PositiveSmallIntegerField(_("checks not answered"), default=0)
    decision_due_on = models.DateField(_("decision due"), null=True, blank=True)
    reason = models.TextField(_("reason"), blank=True)
    computed_on = models.DateField(_("computed for"))
    catalogue_version = models.CharField(_("catalogue version"), max_length=30)

    class Meta:
        verbose_name = _("triage summary")
        verbose_name_plural = _("triage summaries")
        constraints = [
            models.CheckConstraint(
                condition=models.Q(readiness_pct__range=(0, 100)), name="summary_readiness_is_percent"
            ),
            models.CheckConstraint(
                condition=models.Q(chance_to_plan__range=(0, 1)), name="summary_chance_is_probability"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.verdict} ({self.readiness_pct:.0f} %)"

"""What the desk asks a rider for besides the whole check: a few questions that decide, and whether a complaint has gone."""

from django.conf import settings
from django.core.validators import MaxValueValidator
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from intake.models.mail import OutgoingMail
from intake.models.previsit import PreVisitCheck, Side


class QuestionRequest(models.Model):
    """The desk has asked a rider for the answers to a few checks, by mail. Which ones stands here, not in an address."""

    pre_visit = models.ForeignKey(
        PreVisitCheck, models.CASCADE, related_name="question_requests", verbose_name=_("pre-visit check")
    )
    check_keys = models.JSONField(_("checks asked for"), default=list)
    asked_at = models.DateTimeField(_("asked"), default=timezone.now)
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, verbose_name=_("asked by")
    )
    mail = models.ForeignKey(OutgoingMail, models.SET_NULL, null=True, blank=True, verbose_name=_("mail"))

    class Meta:
        verbose_name = _("request for answers")
        verbose_name_plural = _("requests for answers")
        ordering = ["pk"]

    def __str__(self) -> str:
        return ", ".join(self.keys)

    @property
    def keys(self) -> list[str]:
        """Return the keys that were asked for; whatever else stands in the column is left out."""
        stored = self.check_keys if isinstance(self.check_keys, list) else []
        return [key for key in stored if isinstance(key, str)]


class ComplaintOutcome(models.Model):
    """What a rider says of a complaint after a fault beside it was put right. Rows are only ever added: the latest counts."""

    pre_visit = models.ForeignKey(
        PreVisitCheck, models.CASCADE, related_name="outcomes", verbose_name=_("pre-visit check")
    )
    area = models.CharField(_("body area"), max_length=40)
    side = models.CharField(_("side"), max_length=5, choices=Side, blank=True)
    finding_key = models.CharField(_("what was put right"), max_length=121)
    rode = models.BooleanField(_("has ridden since"))
    score_before = models.PositiveSmallIntegerField(_("before, 0 to 10"), validators=[MaxValueValidator(10)])
    score_now = models.PositiveSmallIntegerField(
        _("now, 0 to 10"), null=True, blank=True, validators=[MaxValueValidator(10)]
    )
    answered_at = models.DateTimeField(_("answered"), default=timezone.now)

    class Meta:
        verbose_name = _("complaint after a repair")
        verbose_name_plural = _("complaints after repairs")
        ordering = ["pk"]
        indexes = [models.Index(fields=["pre_visit", "area", "side"], name="outcome_by_place")]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(score_before__range=(0, 10))
                & (models.Q(score_now__isnull=True) | models.Q(score_now__range=(0, 10))),
                name="outcome_scores_0_to_10",
            ),
            models.CheckConstraint(
                condition=models.Q(rode=True, score_now__isnull=False) | models.Q(rode=False, score_now__isnull=True),
                name="outcome_has_a_score_after_a_ride",
            ),
            models.CheckConstraint(condition=models.Q(side__in=Side.values), name="outcome_side_known"),
        ]

    def __str__(self) -> str:
        return f"{self.area} {self.side} {self.score_before} → {self.score_now}"

"""What closed sessions taught. Only `SessionLesson` knows the rider, and goes with them; everything else is counts."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from intake.experience.learning import Counted, PriorWeights
from intake.experience.minutes import LogMinutes
from intake.models.previsit import PreVisitCheck

SANE_WEIGHT = [MinValueValidator(1), MaxValueValidator(1000)]


class LearningWeights(models.Model):
    """How much the catalogue's estimates weigh beside the studio's own sessions: one row, or none where the usual weights hold."""

    sessions = models.PositiveSmallIntegerField(
        _("weight of the starting rates"), default=int(PriorWeights().sessions), validators=SANE_WEIGHT
    )
    faults = models.PositiveSmallIntegerField(
        _("weight of the starting minutes"), default=int(PriorWeights().faults), validators=SANE_WEIGHT
    )

    class Meta:
        verbose_name = _("weight of the starting estimates")
        verbose_name_plural = _("weights of the starting estimates")
        constraints = [
            models.CheckConstraint(condition=Q(pk=1), name="weights_only_once"),
            models.CheckConstraint(condition=Q(sessions__range=(1, 1000)), name="weight_of_rates_sane"),
            models.CheckConstraint(condition=Q(faults__range=(1, 1000)), name="weight_of_minutes_sane"),
        ]

    def __str__(self) -> str:
        return f"{self.sessions}, {self.faults}"


class FaultExperience(models.Model):
    """All that was counted of one fault: sessions that showed whether it was there, and the logarithms of its minutes."""

    finding_key = models.CharField(_("finding"), max_length=121, unique=True)
    seen = models.PositiveIntegerField(_("sessions that showed it either way"), default=0)
    faults = models.PositiveIntegerField(_("of these with the fault"), default=0)
    times = models.PositiveIntegerField(_("times that minutes were noted"), default=0)
    mean_log = models.FloatField(_("mean of the logarithms"), default=0)
    squares_log = models.FloatField(_("squares about that mean"), default=0)

    class Meta:
        verbose_name = _("experience with a fault")
        verbose_name_plural = _("experience with faults")
        ordering = ["finding_key"]
        constraints = [
            models.CheckConstraint(condition=Q(faults__lte=F("seen")), name="experience_faults_within_seen"),
            models.CheckConstraint(condition=Q(squares_log__gte=0), name="experience_squares_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.finding_key}: {self.faults}/{self.seen}"

    @property
    def minutes(self) -> LogMinutes:
        """The noted minutes as the core counts them."""
        return LogMinutes(self.times, self.mean_log, self.squares_log)

    @minutes.setter
    def minutes(self, noted: LogMinutes) -> None:
        self.times, self.mean_log, self.squares_log = noted.times, noted.mean, noted.squares

    def counted(self) -> Counted:
        """Return the row as the core takes it."""
        return Counted(self.seen, self.faults, self.minutes)


class MonthlyLoss(models.Model):
    """Minutes that one fault took in one month, by what was known of it before the slot (`intake.experience.observing.Hindsight`)."""

    month = models.DateField(_("month"), help_text=_("Its first day."))
    finding_key = models.CharField(_("finding"), max_length=121)
    times = models.PositiveIntegerField(_("times"), default=0)
    planned_min = models.PositiveIntegerField(_("planned for the slot (min)"), default=0)
    told_in_time_min = models.PositiveIntegerField(_("shown in time (min)"), default=0)
    told_late_min = models.PositiveIntegerField(_("shown too late (min)"), default=0)
    not_shown_min = models.PositiveIntegerField(_("answered, not shown (min)"), default=0)
    not_answered_min = models.PositiveIntegerField(_("not asked or not answered (min)"), default=0)

    class Meta:
        verbose_name = _("minutes lost in a month")
        verbose_name_plural = _("minutes lost by month")
        ordering = ["-month", "finding_key"]
        constraints = [
            models.UniqueConstraint(fields=["month", "finding_key"], name="monthly_loss_once"),
            models.CheckConstraint(condition=Q(month__day=1), name="monthly_loss_names_a_month"),
        ]

    def __str__(self) -> str:
        return f"{self.month:%Y-%m} {self.finding_key}"


class ForecastOutcome(models.Model):
    """A forecast of the day held against what was lost; it names a month, but no rider and no session."""

    month = models.DateField(_("month"), help_text=_("Its first day."))
    verdict = models.CharField(_("verdict on the day"), max_length=20)
    planned_min = models.PositiveSmallIntegerField(_("planned hands-on minutes"))
    slack_min = models.PositiveSmallIntegerField(_("slack minutes"))
    lost_min = models.PositiveSmallIntegerField(_("minutes lost to mechanical work"))
    other_min = models.PositiveSmallIntegerField(_("minutes lost to anything else"), default=0)
    pit_low = models.FloatField(_("forecast chance of fewer minutes"))
    pit_high = models.FloatField(_("forecast chance of that many or fewer"))
    crps = models.FloatField(_("score (min)"))
    crps_prior = models.FloatField(_("score without experience (min)"))
    within90 = models.BooleanField(_("within the 90 % band"))
    band_chance = models.FloatField(_("forecast chance of the band"))
    chance = models.FloatField(_("forecast chance to run to plan"))

    class Meta:
        verbose_name = _("outcome of a forecast")
        verbose_name_plural = _("outcomes of forecasts")
        ordering = ["month", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(month__day=1), name="outcome_names_a_month"),
            models.CheckConstraint(
                condition=Q(pit_low__gte=0, pit_high__lte=1, pit_low__lte=F("pit_high")),
                name="outcome_place_in_forecast",
            ),
            models.CheckConstraint(condition=Q(crps__gte=0, crps_prior__gte=0), name="outcome_scores_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.month:%Y-%m}: {self.lost_min} min"


class SessionLesson(models.Model):
    """What one closed session contributed, so that a correction takes the old away before it adds the new."""

    pre_visit = models.OneToOneField(
        PreVisitCheck, models.CASCADE, related_name="lesson", verbose_name=_("pre-visit check")
    )
    month = models.DateField(_("month"))
    observed = models.JSONField(_("faults there or not"), default=dict)
    losses = models.JSONField(_("losses"), default=list)
    outcome = models.OneToOneField(
        ForecastOutcome, models.SET_NULL, null=True, blank=True, related_name="lesson", verbose_name=_("outcome")
    )
    learned_at = models.DateTimeField(_("learned"), auto_now=True)

    class Meta:
        verbose_name = _("lesson of a session")
        verbose_name_plural = _("lessons of sessions")

    def __str__(self) -> str:
        return f"{self.month:%Y-%m}: {len(self.observed)}"

"""The studio: where, when, who, and what it offers."""

import zoneinfo

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _
from phonenumber_field.modelfields import PhoneNumberField

from intake.catalogue.schema import Adjustment
from sessions.diary.errors import DiaryError
from sessions.diary.hours import weekly
from sessions.diary.quanta import QUANTUM_MIN

ADJUSTMENT_LABELS = {
    Adjustment.SADDLE_HEIGHT: _("saddle height"),
    Adjustment.SADDLE_SETBACK: _("saddle setback"),
    Adjustment.SADDLE_TILT: _("saddle tilt"),
    Adjustment.BAR_HEIGHT_UP: _("bar height up"),
    Adjustment.BAR_HEIGHT_DOWN: _("bar height down"),
    Adjustment.BAR_REACH: _("bar reach"),
    Adjustment.BAR_ROTATION: _("bar rotation"),
    Adjustment.LEVER_POSITION: _("lever position"),
    Adjustment.CLEAT_FORE_AFT: _("cleat fore-aft"),
    Adjustment.CLEAT_LATERAL: _("cleat lateral"),
    Adjustment.CLEAT_ROTATION: _("cleat rotation"),
    Adjustment.PAD_HEIGHT: _("pad height"),
    Adjustment.PAD_REACH: _("pad reach"),
    Adjustment.PAD_WIDTH: _("pad width"),
}


def validate_time_zone(name: str) -> None:
    """Refuse a name that is not in the IANA database."""
    if name not in zoneinfo.available_timezones():
        raise ValidationError(
            _("“%(name)s” is not a time zone: choose one such as Europe/London."), params={"name": name}
        )


def validate_adjustments(keys: object) -> None:
    """Refuse anything but a list of known adjustments."""
    known = set(Adjustment)
    if not isinstance(keys, list) or any(key not in known for key in keys):
        raise ValidationError(_("Name adjustments from the list only."))


class Paper(models.TextChoices):
    """The sheet that the studio prints on."""

    A4 = "A4", "A4"
    LETTER = "Letter", _("Letter")


def _share(label: str, default: float) -> models.FloatField:
    return models.FloatField(label, default=default, validators=[MinValueValidator(0), MaxValueValidator(1)])


THRESHOLDS = ("least_chance", "ask_gain", "unsure_locked", "probably_locked", "reckoned_from")


class Studio(models.Model):
    """A place with opening hours, a time zone and its own thresholds."""

    name = models.CharField(_("name"), max_length=120)
    slug = models.SlugField(_("address part"), unique=True)
    time_zone = models.CharField(
        _("time zone"), max_length=60, default="Europe/London", validators=[validate_time_zone]
    )
    country = models.CharField(_("country (two letters)"), max_length=2, default="GB")
    region = models.CharField(_("region for public holidays"), max_length=10, blank=True)
    address = models.TextField(_("address"), blank=True)
    email = models.EmailField(_("e-mail"))
    phone = PhoneNumberField(_("telephone"), blank=True)
    welcome = models.TextField(_("welcome on the public page"), blank=True)
    currency = models.CharField(_("currency (three letters)"), max_length=3, default="GBP")
    paper = models.CharField(_("paper"), max_length=6, choices=Paper, default=Paper.A4)
    grid_min = models.PositiveSmallIntegerField(_("starts every … minutes"), default=30)
    notice_hours = models.PositiveSmallIntegerField(_("shortest notice (hours)"), default=24)
    horizon_days = models.PositiveSmallIntegerField(_("bookable ahead (days)"), default=60)
    least_chance = _share(_("chance to run to plan below which faults are fixed first"), 0.75)
    ask_gain = _share(_("spread of that chance above which the rider is asked"), 0.20)
    unsure_locked = _share(_("chance of an unknown lock above which the rider is asked"), 0.25)
    probably_locked = _share(_("chance of a lock from which a doubtful answer counts as a sure one"), 0.5)
    reckoned_from = _share(_("rate below which a fault is not reckoned with among the worst answers"), 0.02)
    is_active = models.BooleanField(_("open for booking"), default=True)

    class Meta:
        verbose_name = _("studio")
        verbose_name_plural = _("studios")
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(grid_min__in=[5, 10, 15, 20, 30, 60]),
                name="studio_grid_divides_the_hour",
                violation_error_message=_("Choose 5, 10, 15, 20, 30 or 60 minutes."),
            ),
            models.CheckConstraint(
                condition=Q(**{f"{threshold}__range": (0, 1) for threshold in THRESHOLDS}),
                name="studio_thresholds_are_shares",
            ),
            models.CheckConstraint(condition=Q(horizon_days__range=(1, 400)), name="studio_horizon_sane"),
            models.CheckConstraint(condition=Q(paper__in=Paper.values), name="studio_paper_known"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> zoneinfo.ZoneInfo:
        """Return the studio's time zone."""
        return zoneinfo.ZoneInfo(self.time_zone)


class Weekday(models.IntegerChoices):
    """Days of the week, Monday first."""

    MONDAY = 0, _("Monday")
    TUESDAY = 1, _("Tuesday")
    WEDNESDAY = 2, _("Wednesday")
    THURSDAY = 3, _("Thursday")
    FRIDAY = 4, _("Friday")
    SATURDAY = 5, _("Saturday")
    SUNDAY = 6, _("Sunday")


class OpeningHours(models.Model):
    """Opening hours on one weekday, in the studio's local time; several rows make a day with a break."""

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="opening_hours", verbose_name=_("studio"))
    weekday = models.PositiveSmallIntegerField(_("day"), choices=Weekday)
    opens = models.TimeField(_("opens"))
    closes = models.TimeField(_("closes"))

    class Meta:
        verbose_name = _("opening hours")
        verbose_name_plural = _("opening hours")
        ordering = ["studio", "weekday", "opens"]
        constraints = [
            models.CheckConstraint(
                condition=Q(closes__gt=F("opens")),
                name="hours_close_after_opening",
                violation_error_message=_("Closing must come after opening, on the same day."),
            ),
            models.CheckConstraint(condition=Q(weekday__range=(0, 6)), name="hours_weekday_known"),
            models.UniqueConstraint(fields=["studio", "weekday", "opens"], name="hours_once"),
        ]

    def __str__(self) -> str:
        return f"{self.get_weekday_display()} {self.opens:%H:%M}–{self.closes:%H:%M}"

    def clean(self) -> None:
        """Refuse hours that the diary cannot use: off the five-minute grid, or overlapping others of that day."""
        if self.studio_id is None or self.opens is None or self.closes is None or self.weekday is None:
            return
        others = OpeningHours.objects.filter(studio=self.studio_id, weekday=self.weekday).exclude(pk=self.pk)
        stretches = [(hours.weekday, hours.opens, hours.closes) for hours in (*others, self)]
        try:
            weekly(stretches)
        except DiaryError as error:
            raise ValidationError(str(error)) from error


class Closure(models.Model):
    """Days on which the studio is closed, first and last included."""

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="closures", verbose_name=_("studio"))
    first_day = models.DateField(_("first day"))
    last_day = models.DateField(_("last day"))
    reason = models.CharField(_("reason"), max_length=120, blank=True)

    class Meta:
        verbose_name = _("closure")
        verbose_name_plural = _("closures")
        ordering = ["studio", "first_day"]
        constraints = [
            models.CheckConstraint(
                condition=Q(last_day__gte=F("first_day")),
                name="closure_ends_after_start",
                violation_error_message=_("The last day must not come before the first."),
            )
        ]

    def __str__(self) -> str:
        return f"{self.first_day} – {self.last_day} {self.reason}"


class Fitter(models.Model):
    """Somebody who takes sessions."""

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="fitters", verbose_name=_("studio"))
    user = models.OneToOneField(
        settings.AUTH_USER_MODEL,
        models.SET_NULL,
        null=True,
        blank=True,
        related_name="fitter",
        verbose_name=_("log-in"),
    )
    name = models.CharField(_("name"), max_length=120)
    is_active = models.BooleanField(_("takes bookings"), default=True)

    class Meta:
        verbose_name = _("fitter")
        verbose_name_plural = _("fitters")
        ordering = ["name"]
        constraints = [models.CheckConstraint(condition=~Q(name=""), name="fitter_name_given")]

    def __str__(self) -> str:
        return self.name


class Bay(models.Model):
    """A place with a trainer, one bike at a time."""

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="bays", verbose_name=_("studio"))
    name = models.CharField(_("name"), max_length=60)
    is_active = models.BooleanField(_("in use"), default=True)

    class Meta:
        verbose_name = _("bay")
        verbose_name_plural = _("bays")
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["studio", "name"], name="bay_name_once")]

    def __str__(self) -> str:
        return self.name


def all_minutes_on_the_grid() -> Q:
    """Return the condition that every length of a service is a whole number of five-minute quanta."""
    condition = Q()
    for name in ("planned_min", "slack_min", "buffer_before_min", "buffer_after_min"):
        condition &= Q(**{f"{name}__in": range(0, 601, QUANTUM_MIN)})
    return condition


class Service(models.Model):
    """What a rider can book: hands-on minutes, slack for what goes wrong, buffers around, and what it must be able to move."""

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="services", verbose_name=_("studio"))
    name = models.CharField(_("name"), max_length=120)
    slug = models.SlugField(_("address part"))
    purpose = models.TextField(_("what it is for"))
    planned_min = models.PositiveSmallIntegerField(_("planned hands-on minutes"), default=105)
    slack_min = models.PositiveSmallIntegerField(_("slack minutes"), default=15)
    buffer_before_min = models.PositiveSmallIntegerField(_("buffer before (minutes)"), default=0)
    buffer_after_min = models.PositiveSmallIntegerField(_("buffer after (minutes)"), default=15)
    price = models.DecimalField(_("price"), max_digits=8, decimal_places=2)
    essential = models.JSONField(
        _("essential adjustments"), default=list, blank=True, validators=[validate_adjustments]
    )
    follow_up_days = models.PositiveSmallIntegerField(_("follow-up after (days)"), default=42)
    position = models.PositiveSmallIntegerField(_("order on the page"), default=0)
    is_active = models.BooleanField(_("can be booked"), default=True)

    class Meta:
        verbose_name = _("service")
        verbose_name_plural = _("services")
        ordering = ["studio", "position", "name"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "slug"], name="service_slug_once"),
            models.CheckConstraint(condition=~Q(name=""), name="service_name_given"),
            models.CheckConstraint(condition=Q(planned_min__gte=QUANTUM_MIN), name="service_has_hands_on_minutes"),
            models.CheckConstraint(
                condition=all_minutes_on_the_grid(),
                name="service_minutes_in_fives",
                violation_error_message=_("Give every length in steps of five minutes, ten hours at most."),
            ),
            models.CheckConstraint(condition=Q(price__gte=0), name="service_price_not_negative"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def length_min(self) -> int:
        """Return the minutes that the rider is there."""
        return self.planned_min + self.slack_min

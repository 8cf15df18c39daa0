"""The fit record: everything measured and changed in a session. Readings are kept raw; a correction adds a row."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from intake.models.previsit import Phase
from sessions.models.fit_sessions import FitSession


class FitRecord(models.Model):
    """The record of one session; its print is the fit sheet."""

    fit_session = models.OneToOneField(FitSession, models.CASCADE, related_name="fit_record", verbose_name=_("session"))
    started_at = models.DateTimeField(_("started"), auto_now_add=True)
    closed_at = models.DateTimeField(_("closed"), null=True, blank=True)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="+", verbose_name=_("closed by")
    )
    pitch_deg = models.FloatField(_("pitch on the trainer (°)"), default=0, help_text=_("Nose-up is positive."))
    notes = models.TextField(_("notes for the rider"), blank=True)
    nothing_lost = models.BooleanField(
        _("nothing ate time"),
        default=False,
        help_text=_("Somebody said so; without it, no minutes means that nobody said."),
    )
    follow_up_on = models.DateField(_("next visit"), null=True, blank=True)
    follow_up_note = models.CharField(_("for the next visit"), max_length=300, blank=True)

    class Meta:
        verbose_name = _("fit record")
        verbose_name_plural = _("fit records")
        ordering = ["-started_at"]
        constraints = [
            models.CheckConstraint(condition=Q(pitch_deg__range=(-10, 10)), name="fit_pitch_within_ten_degrees"),
            models.CheckConstraint(
                condition=Q(closed_at__isnull=True) | Q(closed_at__gte=F("started_at")), name="fit_closes_after_start"
            ),
        ]

    def __str__(self) -> str:
        return str(self.fit_session)


class ClosingKind(models.TextChoices):
    """What happened to a record."""

    CLOSED = "closed", _("closed")
    REOPENED = "reopened", _("opened again")


class ClosingStep(models.Model):
    """A fit record was closed, or opened again to put something right: who, when and why. Rows are only ever added."""

    fit_record = models.ForeignKey(
        FitRecord, models.CASCADE, related_name="closing_steps", verbose_name=_("fit record")
    )
    kind = models.CharField(_("what"), max_length=8, choices=ClosingKind)
    note = models.CharField(_("why"), max_length=300, blank=True)
    taken_at = models.DateTimeField(_("when"), auto_now_add=True)
    taken_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, related_name="+", verbose_name=_("by")
    )

    class Meta:
        verbose_name = _("closing of a record")
        verbose_name_plural = _("closings of records")
        ordering = ["pk"]
        constraints = [models.CheckConstraint(condition=Q(kind__in=ClosingKind.values), name="closing_kind_known")]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.taken_at:%Y-%m-%d %H:%M}"


class Reading(models.Model):
    """One measured value with the instrument that took it. ``quantity`` is a key of the tape core or ``point.axis``."""

    fit_record = models.ForeignKey(FitRecord, models.CASCADE, related_name="readings", verbose_name=_("fit record"))
    phase = models.CharField(_("phase"), max_length=6, choices=Phase)
    quantity = models.CharField(_("quantity"), max_length=60)
    value = models.FloatField(_("value"), help_text=_("Millimetres or degrees."))
    sigma = models.FloatField(_("one sigma"), help_text=_("In the same unit."))
    instrument = models.CharField(_("instrument"), max_length=40)
    as_typed = models.CharField(_("as typed"), max_length=40)
    taken_at = models.DateTimeField(_("taken"), auto_now_add=True)
    taken_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, verbose_name=_("taken by")
    )
    replaced_at = models.DateTimeField(_("replaced"), null=True, blank=True)

    class Meta:
        verbose_name = _("reading")
        verbose_name_plural = _("readings")
        ordering = ["fit_record", "phase", "quantity", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["fit_record", "phase", "quantity"],
                condition=Q(replaced_at__isnull=True),
                name="reading_one_in_force",
            ),
            models.CheckConstraint(condition=Q(sigma__gt=0), name="reading_sigma_positive"),
            models.CheckConstraint(condition=Q(phase__in=Phase.values), name="reading_phase_known"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} {self.value:g}"


class SolvedPosition(models.Model):
    """Where the contact points were, computed from the readings in force: coordinates and covariance in mm and mm²."""

    fit_record = models.ForeignKey(FitRecord, models.CASCADE, related_name="positions", verbose_name=_("fit record"))
    phase = models.CharField(_("phase"), max_length=6, choices=Phase)
    points = models.JSONField(_("points (mm)"), default=dict)
    covariance = models.JSONField(_("covariance (mm²)"), default=list)
    solved_at = models.DateTimeField(_("solved"), auto_now=True)

    class Meta:
        verbose_name = _("solved position")
        verbose_name_plural = _("solved positions")
        constraints = [
            models.UniqueConstraint(fields=["fit_record", "phase"], name="position_once_per_phase"),
            models.CheckConstraint(condition=Q(phase__in=Phase.values), name="position_phase_known"),
        ]

    def __str__(self) -> str:
        return f"{self.fit_record} {self.phase}"


class BodyMeasure(models.Model):
    """One length of the rider's body, in millimetres."""

    fit_record = models.ForeignKey(
        FitRecord, models.CASCADE, related_name="body_measures", verbose_name=_("fit record")
    )
    measure = models.CharField(_("measure"), max_length=40)
    value_mm = models.FloatField(_("value (mm)"))
    as_typed = models.CharField(_("as typed"), max_length=40)
    taken_at = models.DateTimeField(_("taken"), auto_now=True)

    class Meta:
        verbose_name = _("body measure")
        verbose_name_plural = _("body measures")
        constraints = [
            models.UniqueConstraint(fields=["fit_record", "measure"], name="body_measure_once"),
            models.CheckConstraint(condition=Q(value_mm__gt=0), name="body_measure_positive"),
        ]

    def __str__(self) -> str:
        return f"{self.measure} {self.value_mm:g} mm"


class Component(models.TextChoices):
    """A part that a session may exchange."""

    STEM = "stem", _("stem")
    SPACERS = "spacers", _("spacers")
    BAR = "bar", _("bar")
    LEVERS = "levers", _("levers")
    SADDLE = "saddle", _("saddle")
    POST = "post", _("seat post")
    PEDALS = "pedals", _("pedals")
    CLEATS = "cleats", _("cleats")
    CRANK = "crank", _("cranks")
    AERO_BARS = "aero_bars", _("aero bars")
    INSOLES = "insoles", _("insoles")
    OTHER = "other", _("other")


class ComponentChange(models.Model):
    """A part exchanged or re-set in the session, beside the movement it caused."""

    fit_record = models.ForeignKey(
        FitRecord, models.CASCADE, related_name="component_changes", verbose_name=_("fit record")
    )
    component = models.CharField(_("part"), max_length=10, choices=Component)
    was = models.CharField(_("before"), max_length=200, blank=True)
    now = models.CharField(_("after"), max_length=200)
    note = models.CharField(_("note"), max_length=300, blank=True)
    request_key = models.CharField(_("request"), max_length=64)

    class Meta:
        verbose_name = _("component change")
        verbose_name_plural = _("component changes")
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["fit_record", "request_key"], name="component_change_once"),
            models.CheckConstraint(condition=Q(component__in=Component.values), name="component_known"),
        ]

    def __str__(self) -> str:
        return f"{self.get_component_display()}: {self.now}"


class PartToOrder(models.Model):
    """A part that the rider still needs."""

    fit_record = models.ForeignKey(
        FitRecord, models.CASCADE, related_name="parts_to_order", verbose_name=_("fit record")
    )
    part = models.CharField(_("part"), max_length=200)
    why = models.CharField(_("why"), max_length=300, blank=True)
    request_key = models.CharField(_("request"), max_length=64)

    class Meta:
        verbose_name = _("part to order")
        verbose_name_plural = _("parts to order")
        ordering = ["pk"]
        constraints = [models.UniqueConstraint(fields=["fit_record", "request_key"], name="part_to_order_once")]

    def __str__(self) -> str:
        return self.part


class SafetyState(models.TextChoices):
    """The outcome of one line of the closing list."""

    DONE = "done", _("done")
    NOT_APPLICABLE = "not_applicable", _("does not apply")
    NOT_DONE = "not_done", _("not done: told the rider")


class SafetyEntry(models.Model):
    """One line of the closing safety list. A torque is kept as printed on the part, with its unit."""

    fit_record = models.ForeignKey(
        FitRecord, models.CASCADE, related_name="safety_entries", verbose_name=_("fit record")
    )
    item = models.CharField(_("item"), max_length=40)
    state = models.CharField(_("state"), max_length=14, choices=SafetyState)
    torque_as_printed = models.CharField(_("torque as printed on the part"), max_length=60, blank=True)
    note = models.CharField(_("note"), max_length=300, blank=True)
    entered_at = models.DateTimeField(_("entered"), auto_now=True)
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, verbose_name=_("entered by")
    )

    class Meta:
        verbose_name = _("safety entry")
        verbose_name_plural = _("safety entries")
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["fit_record", "item"], name="safety_item_once"),
            models.CheckConstraint(condition=Q(state__in=SafetyState.values), name="safety_state_known"),
        ]

    def __str__(self) -> str:
        return f"{self.item}: {self.get_state_display()}"


class TimeLoss(models.Model):
    """Minutes of the slot that mechanical work ate, by the check that could have found it; empty for anything else."""

    fit_record = models.ForeignKey(FitRecord, models.CASCADE, related_name="time_losses", verbose_name=_("fit record"))
    finding_key = models.CharField(_("finding"), max_length=121, blank=True)
    minutes = models.PositiveSmallIntegerField(_("minutes"))
    note = models.CharField(_("note"), max_length=300, blank=True)

    class Meta:
        verbose_name = _("lost time")
        verbose_name_plural = _("lost time")
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["fit_record", "finding_key"], name="time_loss_once"),
            models.CheckConstraint(condition=Q(minutes__range=(1, 600)), name="time_loss_minutes_sane"),
        ]

    def __str__(self) -> str:
        return f"{self.finding_key or 'other'} {self.minutes} min"

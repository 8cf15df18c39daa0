"""Sessions in the diary, the time they occupy, and the history of their states."""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from intake.models import Bike, Client, PreVisitCheck
from sessions.diary.states import SessionState
from sessions.models.studios import Bay, Fitter, Service, Studio

STATE_LABELS = {
    SessionState.HELD: _("held"),
    SessionState.BOOKED: _("booked"),
    SessionState.CONFIRMED: _("confirmed"),
    SessionState.UNDER_WAY: _("under way"),
    SessionState.DONE: _("done"),
    SessionState.CANCELLED: _("cancelled"),
    SessionState.NO_SHOW: _("did not come"),
    SessionState.MOVED: _("moved"),
}
STATE_CHOICES = [(state.value, label) for state, label in STATE_LABELS.items()]
STATES = [state.value for state in STATE_LABELS]


class FitSession(models.Model):
    """One appointment: a service, a rider, a bike, a fitter, a bay, a start and an end."""

    studio = models.ForeignKey(Studio, models.PROTECT, related_name="fit_sessions", verbose_name=_("studio"))
    service = models.ForeignKey(Service, models.PROTECT, related_name="fit_sessions", verbose_name=_("service"))
    client = models.ForeignKey(Client, models.CASCADE, related_name="fit_sessions", verbose_name=_("rider"))
    bike = models.ForeignKey(Bike, models.CASCADE, related_name="fit_sessions", verbose_name=_("bike"))
    fitter = models.ForeignKey(Fitter, models.PROTECT, related_name="fit_sessions", verbose_name=_("fitter"))
    bay = models.ForeignKey(Bay, models.PROTECT, related_name="fit_sessions", verbose_name=_("bay"))
    pre_visit = models.OneToOneField(
        PreVisitCheck, models.CASCADE, related_name="fit_session", verbose_name=_("pre-visit check")
    )
    starts_at = models.DateTimeField(_("starts"))
    ends_at = models.DateTimeField(_("ends"))
    planned_min = models.PositiveSmallIntegerField(_("planned hands-on minutes"))
    slack_min = models.PositiveSmallIntegerField(_("slack minutes"), help_text=_("Grows when the session is extended."))
    buffer_before_min = models.PositiveSmallIntegerField(_("buffer before (minutes)"), default=0)
    buffer_after_min = models.PositiveSmallIntegerField(_("buffer after (minutes)"), default=0)
    state = models.CharField(_("state"), max_length=10, choices=STATE_CHOICES, default=SessionState.BOOKED.value)
    uid = models.UUIDField(_("calendar identity"), unique=True, default=uuid.uuid4, editable=False)
    sequence = models.PositiveIntegerField(_("calendar sequence"), default=0)
    request_key = models.CharField(
        _("request"),
        max_length=64,
        unique=True,
        default=uuid.uuid4,
        help_text=_("Names the form that booked it, so that the same form sent twice books once."),
    )
    wish = models.TextField(_("what the rider hopes for"), blank=True)
    created_at = models.DateTimeField(_("booked"), auto_now_add=True)

    class Meta:
        verbose_name = _("session")
        verbose_name_plural = _("sessions")
        ordering = ["starts_at", "pk"]
        indexes = [models.Index(fields=["studio", "starts_at"], name="session_by_start")]
        constraints = [
            models.CheckConstraint(condition=Q(ends_at__gt=F("starts_at")), name="session_ends_after_start"),
            models.CheckConstraint(condition=Q(state__in=STATES), name="session_state_known"),
            models.CheckConstraint(condition=Q(planned_min__gt=0), name="session_has_hands_on_minutes"),
            models.CheckConstraint(condition=~Q(request_key=""), name="session_request_named"),
        ]

    def __str__(self) -> str:
        return f"{self.client} – {self.service} – {self.starts_at:%Y-%m-%d %H:%M}"


class Occupancy(models.Model):
    """Five minutes of a fitter and a bay. The two unique constraints are what refuses an overlap, on every database."""

    fit_session = models.ForeignKey(FitSession, models.CASCADE, related_name="occupancy", verbose_name=_("session"))
    fitter = models.ForeignKey(Fitter, models.CASCADE, related_name="+", verbose_name=_("fitter"))
    bay = models.ForeignKey(Bay, models.CASCADE, related_name="+", verbose_name=_("bay"))
    quantum = models.BigIntegerField(_("five-minute quantum since 1970"))

    class Meta:
        verbose_name = _("occupied time")
        verbose_name_plural = _("occupied time")
        ordering = ["quantum"]
        constraints = [
            models.UniqueConstraint(fields=["fitter", "quantum"], name="fitter_free_at_quantum"),
            models.UniqueConstraint(fields=["bay", "quantum"], name="bay_free_at_quantum"),
        ]

    def __str__(self) -> str:
        return f"{self.fit_session_id}: {self.quantum}"


class StateChange(models.Model):
    """One step in a session's history: from, to, when, by whom."""

    fit_session = models.ForeignKey(FitSession, models.CASCADE, related_name="history", verbose_name=_("session"))
    from_state = models.CharField(_("from"), max_length=10, blank=True, choices=STATE_CHOICES)
    to_state = models.CharField(_("to"), max_length=10, choices=STATE_CHOICES)
    note = models.CharField(_("note"), max_length=300, blank=True)
    changed_at = models.DateTimeField(_("when"), auto_now_add=True)
    changed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        verbose_name=_("by"),
        help_text=_("Empty where the rider did it."),
    )

    class Meta:
        verbose_name = _("change of state")
        verbose_name_plural = _("changes of state")
        ordering = ["pk"]
        constraints = [models.CheckConstraint(condition=Q(to_state__in=STATES), name="change_state_known")]

    def __str__(self) -> str:
        return f"{self.from_state} → {self.to_state}"

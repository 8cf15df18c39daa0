"""Workshops, and the job sheets by which they get what is wrong with a bike and answer line by line."""

from datetime import datetime, timedelta
from uuid import uuid4

from django.conf import settings
from django.db import models
from django.db.models.functions import Lower, Trim
from django.urls import reverse
from django.utils.crypto import salted_hmac
from django.utils.translation import gettext_lazy as _
from phonenumber_field.modelfields import PhoneNumberField

from intake.models.links import new_key
from intake.models.previsit import PreVisitCheck

SALT = "intake.job-link"
LASTS_AFTER = timedelta(days=14)


class Workshop(models.Model):
    """A workshop that the studio knows. One that is no longer used is retired, so that its sheets keep their place."""

    name = models.CharField(_("name"), max_length=200)
    email = models.EmailField(_("e-mail"), max_length=254, blank=True)
    phone = PhoneNumberField(_("telephone"), blank=True)
    address = models.TextField(_("address"), max_length=500, blank=True)
    note = models.TextField(_("note"), max_length=1000, blank=True)
    is_active = models.BooleanField(_("in use"), default=True)
    created_at = models.DateTimeField(_("created"), auto_now_add=True)

    class Meta:
        verbose_name = _("workshop")
        verbose_name_plural = _("workshops")
        ordering = [Lower("name"), "pk"]
        constraints = [
            models.UniqueConstraint(Lower("name"), name="workshop_once_by_name"),
            models.CheckConstraint(condition=~models.Q(name=""), name="workshop_name_given"),
            models.CheckConstraint(condition=models.Q(name=Trim("name")), name="workshop_name_trimmed"),
        ]

    def __str__(self) -> str:
        return self.name


class JobSheet(models.Model):
    """What one workshop is asked to do on one bike before one session. Name and e-mail stay as they were when it was made.

    The ``share_`` columns are what the rider has agreed that the workshop may know; the studio's contact is always on the sheet.
    """

    pre_visit = models.ForeignKey(
        PreVisitCheck, models.CASCADE, related_name="job_sheets", verbose_name=_("pre-visit check")
    )
    workshop = models.ForeignKey(
        Workshop, models.SET_NULL, null=True, blank=True, related_name="job_sheets", verbose_name=_("from the list")
    )
    workshop_name = models.CharField(_("workshop"), max_length=200)
    workshop_email = models.EmailField(_("workshop's e-mail"), max_length=254, blank=True)
    note = models.CharField(_("note for the workshop"), max_length=500, blank=True)
    share_name = models.BooleanField(_("rider's name is shared"), default=False)
    share_phone = models.BooleanField(_("rider's telephone is shared"), default=False)
    share_email = models.BooleanField(_("rider's e-mail is shared"), default=False)
    request_key = models.UUIDField(_("sent as"), default=uuid4, editable=False)
    created_at = models.DateTimeField(_("created"), auto_now_add=True)
    created_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.SET_NULL,
        null=True,
        blank=True,
        verbose_name=_("made by"),
        help_text=_("Empty where the rider made it."),
    )

    class Meta:
        verbose_name = _("job sheet")
        verbose_name_plural = _("job sheets")
        ordering = ["-created_at", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["pre_visit", "request_key"], name="job_sheet_once_per_form"),
            models.CheckConstraint(condition=~models.Q(workshop_name=""), name="job_sheet_names_its_workshop"),
        ]

    def __str__(self) -> str:
        return f"{self.pk}: {self.workshop_name}"


class JobLink(models.Model):
    """An unguessable, revocable address of a job sheet. The signature is not stored, so the database alone opens nothing."""

    job_sheet = models.ForeignKey(JobSheet, models.CASCADE, related_name="links", verbose_name=_("job sheet"))
    key = models.CharField(_("key"), max_length=32, unique=True, default=new_key, editable=False)
    created_at = models.DateTimeField(_("created"), auto_now_add=True)
    expires_at = models.DateTimeField(_("expires, at the earliest"))
    revoked_at = models.DateTimeField(_("revoked"), null=True, blank=True)

    class Meta:
        verbose_name = _("workshop's link")
        verbose_name_plural = _("workshops' links")
        ordering = ["-created_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["job_sheet"], condition=models.Q(revoked_at__isnull=True), name="job_sheet_has_one_open_link"
            )
        ]

    def __str__(self) -> str:
        return f"{self.job_sheet} ({self.created_at:%Y-%m-%d})"

    def get_absolute_url(self) -> str:
        """Return the page that the workshop opens."""
        return reverse("workshop:sheet", args=[self.token])

    @staticmethod
    def signature_of(key: str) -> str:
        """Return the part of the token that only this installation can make."""
        return salted_hmac(SALT, key, algorithm="sha256").hexdigest()[:24]

    @property
    def token(self) -> str:
        """Return what stands in the address."""
        return f"{self.key}.{self.signature_of(self.key)}"

    def is_open_at(self, now: datetime, starts_at: datetime) -> bool:
        """Whether the link opens its sheet; a session that was moved to a later day keeps it open longer."""
        return self.revoked_at is None and now < max(self.expires_at, starts_at + LASTS_AFTER)


class JobLine(models.Model):
    """One thing to put right, in words that no later catalogue changes; its last day is counted afresh when the session moves."""

    job_sheet = models.ForeignKey(JobSheet, models.CASCADE, related_name="lines", verbose_name=_("job sheet"))
    position = models.PositiveSmallIntegerField(_("position"))
    finding_key = models.CharField(_("finding"), max_length=121)
    title = models.CharField(_("title"), max_length=200)
    wrong = models.TextField(_("what is wrong"))
    needs = models.TextField(_("what the session needs"), blank=True)
    work = models.TextField(_("what can be done"), blank=True)
    part = models.CharField(_("part"), max_length=300, blank=True)
    caution = models.TextField(_("caution"), blank=True)
    not_to_ride = models.BooleanField(_("not to be ridden"), default=False)
    lead_days = models.PositiveSmallIntegerField(_("working days needed"), default=1)

    class Meta:
        verbose_name = _("line of a job sheet")
        verbose_name_plural = _("lines of job sheets")
        ordering = ["job_sheet", "position"]
        constraints = [
            models.UniqueConstraint(fields=["job_sheet", "position"], name="job_line_once_per_position"),
            models.UniqueConstraint(fields=["job_sheet", "finding_key"], name="job_line_once_per_finding"),
            models.CheckConstraint(
                condition=~models.Q(finding_key="") & ~models.Q(title=""), name="job_line_says_what"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.position}. {self.title}"


class JobOutcome(models.TextChoices):
    """What a workshop answers about a line; the values are those of a repair report."""

    DONE = "done", _("done")
    NEEDS_PART = "needs_part", _("needs a part")
    CANNOT = "cannot", _("cannot be done")


class JobAnswer(models.Model):
    """One answer to one line. Rows are only ever added, so that of two people nobody's note is lost; the latest is in force."""

    line = models.ForeignKey(JobLine, models.CASCADE, related_name="answers", verbose_name=_("line"))
    outcome = models.CharField(_("outcome"), max_length=10, choices=JobOutcome)
    note = models.CharField(_("note"), max_length=500, blank=True)
    answered_by = models.CharField(_("name"), max_length=200)
    answered_at = models.DateTimeField(_("answered"), auto_now_add=True)
    request_key = models.UUIDField(_("sent as"), default=uuid4, editable=False)

    class Meta:
        verbose_name = _("workshop's answer")
        verbose_name_plural = _("workshops' answers")
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["line", "request_key"], name="job_answer_once_per_form"),
            models.CheckConstraint(condition=models.Q(outcome__in=JobOutcome.values), name="job_answer_outcome_known"),
            models.CheckConstraint(condition=~models.Q(answered_by=""), name="job_answer_has_a_name"),
        ]

    def __str__(self) -> str:
        return f"{self.line}: {self.get_outcome_display()}"


class JobLinkRequest(models.Model):
    """Somebody opened a closed link and asked for a new one: kept, and told to the studio, once a day for each sheet."""

    job_sheet = models.ForeignKey(JobSheet, models.CASCADE, related_name="requests", verbose_name=_("job sheet"))
    asked_on = models.DateField(_("day"))
    asked_at = models.DateTimeField(_("asked"), auto_now_add=True)

    class Meta:
        verbose_name = _("request for a new workshop's link")
        verbose_name_plural = _("requests for new workshops' links")
        ordering = ["-pk"]
        constraints = [models.UniqueConstraint(fields=["job_sheet", "asked_on"], name="job_link_asked_once_a_day")]

    def __str__(self) -> str:
        return f"{self.job_sheet} ({self.asked_on})"

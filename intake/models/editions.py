"""What owners changed in the catalogue of checks, edition by edition, and every version that was ever asked."""

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _


class EditionState(models.TextChoices):
    """Where an edition stands: it is written, it is asked, or a later one has taken its place."""

    DRAFT = "draft", _("draft")
    IN_FORCE = "in_force", _("in force")
    RETIRED = "retired", _("retired")


class CatalogueEdition(models.Model):
    """One set of an owner's changes, laid over the shipped catalogue. At most one is being written and at most one is in force.

    ``revision`` counts what was saved into the draft, so that nobody publishes what they have not seen.
    """

    number = models.PositiveIntegerField(_("number"), unique=True)
    state = models.CharField(_("state"), max_length=8, choices=EditionState, default=EditionState.DRAFT)
    base_version = models.CharField(_("made over the shipped version"), max_length=30)
    overlay = models.JSONField(_("changes"), default=dict, blank=True)
    revision = models.PositiveIntegerField(_("revision"), default=0)
    note = models.CharField(_("note"), max_length=500, blank=True)
    made_at = models.DateTimeField(_("made"))
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, verbose_name=_("made by"), related_name="+"
    )
    published_at = models.DateTimeField(_("published"), null=True, blank=True)
    published_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        verbose_name=_("published by"),
        related_name="+",
    )

    class Meta:
        verbose_name = _("edition of the catalogue")
        verbose_name_plural = _("editions of the catalogue")
        ordering = ["-number"]
        constraints = [
            models.UniqueConstraint(
                fields=["state"], condition=models.Q(state=EditionState.DRAFT), name="edition_one_draft"
            ),
            models.UniqueConstraint(
                fields=["state"], condition=models.Q(state=EditionState.IN_FORCE), name="edition_one_in_force"
            ),
            models.CheckConstraint(condition=models.Q(state__in=EditionState.values), name="edition_state_known"),
            models.CheckConstraint(condition=models.Q(number__gte=1), name="edition_numbered_from_one"),
            models.CheckConstraint(
                condition=models.Q(state=EditionState.DRAFT, published_at__isnull=True)
                | models.Q(~models.Q(state=EditionState.DRAFT), published_at__isnull=False),
                name="edition_published_unless_draft",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.base_version}+{self.number}"


class CatalogueVersion(models.Model):
    """The whole catalogue of one version as it was asked: answers stay readable by it, and the newest serves where all else fails.

    ``words`` holds only what is needed to read an answer: titles, questions and the labels of answers and lengths.
    """

    version = models.CharField(_("version"), max_length=30, unique=True)
    digest = models.CharField(_("fingerprint"), max_length=64)
    document = models.JSONField(_("document"))
    words = models.JSONField(_("words"))
    kept_at = models.DateTimeField(_("kept"))

    class Meta:
        verbose_name = _("version of the catalogue")
        verbose_name_plural = _("versions of the catalogue")
        ordering = ["-kept_at", "-pk"]
        constraints = [models.CheckConstraint(condition=~models.Q(version=""), name="kept_version_named")]

    def __str__(self) -> str:
        return self.version

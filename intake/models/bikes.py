"""Bikes: the frame and component facts that decide what a session can move."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from intake.catalogue.schema import BikeKind
from intake.models.clients import Client

KIND_LABELS = {
    BikeKind.ROAD: _("road"),
    BikeKind.GRAVEL: _("gravel"),
    BikeKind.MOUNTAIN: _("mountain"),
    BikeKind.TRIATHLON: _("triathlon or time trial"),
    BikeKind.CITY: _("city or touring"),
    BikeKind.TRACK: _("track"),
}
KIND_CHOICES = [(kind.value, label) for kind, label in KIND_LABELS.items()]


class PostKind(models.TextChoices):
    """How the saddle is held up."""

    ROUND = "round", _("round post")
    SHAPED = "shaped", _("shaped post of this frame only")
    DROPPER = "dropper", _("height-adjustable post with a lever")
    MAST = "mast", _("one-piece mast, part of the frame")


class Cockpit(models.TextChoices):
    """Whether stem and bar can be changed separately."""

    SEPARATE = "separate", _("separate stem and bar")
    ONE_PIECE = "one_piece", _("stem and bar in one piece")


class BarKind(models.TextChoices):
    """What the hands hold."""

    DROP = "drop", _("drop bar")
    FLAT = "flat", _("flat or riser bar")
    AERO = "aero", _("aero bars")


class PedalKind(models.TextChoices):
    """How the feet are held."""

    CLIP_THREE_BOLT = "clip_three_bolt", _("clip-in, three-bolt cleats")
    CLIP_TWO_BOLT = "clip_two_bolt", _("clip-in, two-bolt cleats")
    FLAT = "flat", _("flat pedals")


class Routing(models.TextChoices):
    """Where hoses and cables run at the front."""

    OUTSIDE = "outside", _("outside the stem")
    THROUGH_HEADSET = "through_headset", _("through the headset")


class YesNo(models.TextChoices):
    """A fact that may also be unknown."""

    YES = "yes", _("yes")
    NO = "no", _("no")


# Least and greatest value, in the column's own unit, that a real bike can have: anything else is a slip of the keys.
LIMITS: dict[str, tuple[float, float]] = {
    "post_diameter_mm": (20, 40),
    "post_length_mm": (100, 600),
    "head_stack_mm": (350, 800),
    "head_reach_mm": (250, 600),
    "head_angle_deg": (55, 80),
    "seat_angle_deg": (60, 85),
    "spacers_under_mm": (0, 120),
    "spacers_over_mm": (0, 120),
    "stem_length_mm": (0, 200),
    "stem_angle_deg": (-45, 45),
    "bar_width_mm": (280, 950),
    "bar_reach_mm": (0, 150),
    "bar_drop_mm": (0, 220),
    "crank_length_mm": (100, 200),
    "rim_diameter_mm": (203, 700),
    "tyre_width_mm": (15, 130),
}


def _within_limits() -> list[models.BaseConstraint]:
    return [
        models.CheckConstraint(
            condition=models.Q(**{f"{name}__isnull": True}) | models.Q(**{f"{name}__range": limits}),
            name=f"bike_{name}_real",
            violation_error_message=_("This is outside what a bike can have: check the number and its unit."),
        )
        for name, limits in LIMITS.items()
    ]


def _length(label: str) -> models.FloatField:
    return models.FloatField(label, null=True, blank=True)


class Bike(models.Model):
    """A rider's bike. Only the kind must be known; the rest is learned from the check and at the bench."""

    client = models.ForeignKey(Client, models.CASCADE, related_name="bikes", verbose_name=_("client"))
    name = models.CharField(_("name"), max_length=120, help_text=_("What the rider calls it, or its make and model."))
    kind = models.CharField(_("kind"), max_length=12, choices=KIND_CHOICES)
    frame_size = models.CharField(_("frame size"), max_length=30, blank=True)
    post_kind = models.CharField(_("seat post"), max_length=10, choices=PostKind, blank=True)
    cockpit = models.CharField(_("stem and bar"), max_length=10, choices=Cockpit, blank=True)
    bar_kind = models.CharField(_("bar"), max_length=6, choices=BarKind, blank=True)
    pedal_kind = models.CharField(_("pedals"), max_length=16, choices=PedalKind, blank=True)
    routing = models.CharField(_("hoses and cables"), max_length=16, choices=Routing, blank=True)
    indoors = models.CharField(_("ridden indoors on a trainer"), max_length=3, choices=YesNo, blank=True)
    post_diameter_mm = _length(_("seat post diameter (mm)"))
    post_length_mm = _length(_("seat post length (mm)"))
    head_stack_mm = _length(_("frame stack (mm)"))
    head_reach_mm = _length(_("frame reach (mm)"))
    head_angle_deg = _length(_("head angle (°)"))
    seat_angle_deg = _length(_("seat angle (°)"))
    spacers_under_mm = _length(_("spacers under the stem (mm)"))
    spacers_over_mm = _length(_("spacers over the stem (mm)"))
    stem_length_mm = _length(_("stem length (mm)"))
    stem_angle_deg = _length(_("stem angle (°)"))
    bar_width_mm = _length(_("bar width (mm)"))
    bar_reach_mm = _length(_("bar reach (mm)"))
    bar_drop_mm = _length(_("bar drop (mm)"))
    crank_length_mm = _length(_("crank length (mm)"))
    rim_diameter_mm = _length(_("bead-seat diameter (mm)"))
    tyre_width_mm = _length(_("tyre width (mm)"))
    axle_standard = models.CharField(_("rear axle and hub"), max_length=60, blank=True)
    saddle = models.CharField(_("saddle"), max_length=120, blank=True)
    notes = models.TextField(_("notes"), blank=True)
    created_at = models.DateTimeField(_("created"), auto_now_add=True)

    class Meta:
        verbose_name = _("bike")
        verbose_name_plural = _("bikes")
        ordering = ["name", "pk"]
        constraints = [
            models.CheckConstraint(condition=~models.Q(name=""), name="bike_name_given"),
            models.CheckConstraint(condition=models.Q(kind__in=[k.value for k in BikeKind]), name="bike_kind_known"),
            *_within_limits(),
        ]

    def __str__(self) -> str:
        return self.name

    FACT_NAMES = ("post_kind", "cockpit", "bar_kind", "pedal_kind", "routing", "indoors")

    def known_facts(self) -> dict[str, str]:
        """Return the facts that checks depend on, without those that are unknown."""
        return {name: value for name in self.FACT_NAMES if (value := getattr(self, name))}

    def fact_in_words(self, name: str) -> tuple[str, str]:
        """Return a fact's label and its value as people read them."""
        return str(self._meta.get_field(name).verbose_name), str(getattr(self, f"get_{name}_display")())

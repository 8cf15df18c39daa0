"""Staff accounts: riders have none, they come by private link."""

from django.contrib.auth.models import AbstractUser
from django.db import models
from django.utils.translation import gettext_lazy as _


class Role(models.TextChoices):
    """What a member of staff does at the studio."""

    FITTER = "fitter", _("Fitter")
    DESK = "desk", _("Front desk")
    OWNER = "owner", _("Owner")


class User(AbstractUser):
    """A member of staff. Owners also reach the admin; everybody reaches the desk."""

    role = models.CharField(_("role"), max_length=10, choices=Role, default=Role.FITTER)

    class Meta:
        verbose_name = _("member of staff")
        verbose_name_plural = _("members of staff")
        constraints = [models.CheckConstraint(condition=models.Q(role__in=Role.values), name="user_role_known")]

    @property
    def is_owner(self) -> bool:
        """Whether this person may change settings and see every table."""
        return self.role == Role.OWNER or self.is_superuser

    @property
    def display_name(self) -> str:
        """Return the name to show beside what this person did."""
        return self.get_full_name() or self.username

    def has_perm(self, perm: str, obj: object = None) -> bool:
        """Owners may do everything in the back room; nobody else enters it."""
        return (self.is_active and self.is_owner) or super().has_perm(perm, obj)

    def has_module_perms(self, app_label: str) -> bool:
        """Owners see every part of the back room."""
        return (self.is_active and self.is_owner) or super().has_module_perms(app_label)

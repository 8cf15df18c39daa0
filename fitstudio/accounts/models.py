"""Staff accounts: riders have none, they come by private link."""

from typing import Any

from django.contrib.auth.models import AbstractUser, UserManager
from django.db import models
from django.utils.translation import gettext_lazy as _


class Role(models.TextChoices):
    """What a member of staff does at the studio."""

    FITTER = "fitter", _("Fitter")
    DESK = "desk", _("Front desk")
    OWNER = "owner", _("Owner")


class StaffManager(UserManager["User"]):
    """Makes accounts; the first one, made by ``createsuperuser``, is an owner's."""

    def create_superuser(
        self, username: str, email: str | None = None, password: str | None = None, **facts: Any
    ) -> "User":
        """Give whoever sets the product up the role that goes with it."""
        return super().create_superuser(username, email, password, **{"role": Role.OWNER, **facts})


class User(AbstractUser):
    """A member of staff. Owners also reach the admin; everybody reaches the desk."""

    role = models.CharField(_("role"), max_length=10, choices=Role, default=Role.FITTER)

    objects = StaffManager()

    class Meta:
        verbose_name = _("member of staff")
        verbose_name_plural = _("members of staff")
        constraints = [
            models.CheckConstraint(condition=models.Q(role__in=Role.values), name="user_role_known"),
            models.CheckConstraint(
                condition=models.Q(is_superuser=False) | models.Q(role=Role.OWNER), name="user_superuser_is_owner"
            ),
        ]

    @property
    def is_owner(self) -> bool:
        """Whether this person may change settings and see every table."""
        return self.role == Role.OWNER

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

"""Staff accounts in the owner's admin."""

from typing import Any

from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from django.contrib.auth.models import Group
from django.http import HttpRequest
from django.utils.translation import gettext_lazy as _

from fitstudio.accounts.models import User

WHO = ("first_name", "last_name", "email")

# The role alone says who may do what.
admin.site.unregister(Group)


@admin.register(User)
class StaffAdmin(UserAdmin):
    """Staff accounts by role. An owner cannot take their own away, so that there is always one."""

    list_display = ("username", "first_name", "last_name", "role", "is_active")
    list_filter = ("role", "is_active")
    filter_horizontal = ()
    readonly_fields = ("last_login", "date_joined")
    fieldsets = (
        (None, {"fields": ("username", "password")}),
        (_("Who"), {"fields": WHO}),
        (_("At the studio"), {"fields": ("role", "is_active")}),
        (_("Dates"), {"fields": ("last_login", "date_joined")}),
    )
    add_fieldsets = (
        (None, {"classes": ("wide",), "fields": ("username", "password1", "password2")}),
        (_("Who"), {"fields": WHO}),
        (_("At the studio"), {"fields": ("role",)}),
    )

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> tuple[str, ...]:
        """Leave an owner's own role to other owners."""
        own = ("role", "is_active") if obj == request.user else ()
        return (*self.readonly_fields, *own)

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Leave an owner's own account to other owners."""
        return obj != request.user and super().has_delete_permission(request, obj)

"""Staff accounts in the owner's admin."""

from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from django.utils.translation import gettext_lazy as _

from fitstudio.accounts.models import User


@admin.register(User)
class StaffAdmin(UserAdmin):
    """Django's user pages with the studio's roles."""

    list_display = ("username", "first_name", "last_name", "role", "is_active")
    list_filter = ("role", "is_active")
    fieldsets = (*UserAdmin.fieldsets, (_("Studio"), {"fields": ("role",)}))
    add_fieldsets = (*UserAdmin.add_fieldsets, (_("Studio"), {"fields": ("role", "is_staff")}))

"""The admin as the owner's back room: every table, for owners only."""

from django.contrib.admin import AdminSite
from django.http import HttpRequest
from django.utils.translation import gettext_lazy as _


class OwnerAdminSite(AdminSite):
    """Django's admin with the studio's words and the owner's door."""

    site_header = _("Studio records")
    site_title = _("Studio records")
    index_title = _("Everything the studio keeps")

    def has_permission(self, request: HttpRequest) -> bool:
        """Let in active owners only."""
        return super().has_permission(request) and request.user.is_owner

"""The admin as the owner's back room: every table, for owners only."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib.admin import AdminSite
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import redirect
from django.template.response import SimpleTemplateResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from fitstudio.context import first_studio

# In the order of an owner's interest. What is not named here follows at the end.
GROUPS = [
    (_("The studio"), ["Studio", "Service", "Fitter", "Bay", "OpeningHours", "Closure", "Workshop", "User"]),
    (_("Riders"), ["Client", "Bike", "PreVisitCheck", "RiderLink", "JobSheet", "JobLink"]),
    (_("Sessions and fit records"), ["FitSession", "FitRecord", "PartToOrder", "TimeLoss"]),
    (_("Mail"), ["OutgoingMail", "MailAttachment"]),
    (
        _("Kept rows, to search and compare"),
        [
            *("CheckAnswer", "Discomfort", "TriageSummary", "FindingDecision", "RedFlagNote", "SlotDecision"),
            *("StateChange", "Occupancy", "Reading", "BodyMeasure", "SolvedPosition", "ComponentChange", "SafetyEntry"),
            *("ClosingStep", "JobLine", "JobAnswer", "JobLinkRequest"),
        ],
    ),
]


class OwnerAdminSite(AdminSite):
    """Django's admin with the studio's words and the owner's door."""

    site_header = _("Studio records")
    site_title = _("Studio records")
    index_title = _("Everything the studio keeps")

    def has_permission(self, request: HttpRequest) -> bool:
        """Let in active owners only."""
        return request.user.is_active and getattr(request.user, "is_owner", False)

    def admin_view(
        self, view: Callable[..., HttpResponseBase], cacheable: bool = False
    ) -> Callable[..., HttpResponseBase]:
        """Show and read every time in the studio's zone."""

        @wraps(view)
        def in_studio_time(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            with timezone.override(first_studio().zone):
                response = view(request, *args, **kwargs)
                return response.render() if isinstance(response, SimpleTemplateResponse) else response

        return super().admin_view(in_studio_time, cacheable)

    def login(self, request: HttpRequest, extra_context: dict[str, Any] | None = None) -> HttpResponseBase:
        """Lead owners in, send strangers to the staff's log-in, and tell other staff that this is not their door."""
        index = reverse("admin:index", current_app=self.name)
        if self.has_permission(request):
            return redirect(index)
        if request.user.is_authenticated:
            raise PermissionDenied
        return redirect_to_login(request.GET.get("next") or index)

    def get_app_list(self, request: HttpRequest, app_label: str | None = None) -> list[dict[str, Any]]:
        """Return the tables grouped as an owner thinks of them, instead of by program module."""
        apps = super().get_app_list(request, app_label)
        if app_label is not None:
            return apps
        tables = {table["object_name"]: (app, table) for app in apps for table in app["models"]}
        groups = [self._group(name, [tables.pop(key) for key in keys if key in tables]) for name, keys in GROUPS]
        groups.append(self._group(_("Behind the scenes"), list(tables.values())))
        return [group for group in groups if group["models"]]

    @staticmethod
    def _group(name: str, tables: list[tuple[dict[str, Any], dict[str, Any]]]) -> dict[str, Any]:
        app = tables[0][0] if tables else {}
        return {**app, "name": name, "models": [table for _app, table in tables]}

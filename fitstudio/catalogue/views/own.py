"""Checks of the studio's own."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from fitstudio.catalogue.forms.own import OwnCheckForm, own_initial
from fitstudio.catalogue.selectors import OwnersView, owners_view
from fitstudio.catalogue.views import checks
from intake.catalogue.errors import CatalogueError
from intake.catalogue.overlay import overlaid
from intake.catalogue.schema import Check
from intake.edge.access import owner_page
from intake.edge.http import HtmxRequest
from intake.selectors.editions import new_own_key
from intake.services.editions import DraftChangedError, change_draft

Overlay = dict[str, Any]


@owner_page
@require_http_methods(["GET", "HEAD", "POST"])
def new(request: HtmxRequest) -> HttpResponse:
    """Guide through a check of the studio's own and keep it in the draft, or only show what the rider would see."""
    view = owners_view()
    key = new_own_key(request.POST.get("title", ""))
    form = OwnCheckForm(key, view.everything.remedies, data=request.POST or None)
    context: dict[str, Any] = {"section": "studio", "view": view, "form": form}
    if request.method == "POST" and form.is_valid():
        try:
            if request.POST.get("do") == checks.LOOK:
                looked = _would_be(view, form)
                context |= {"check": looked, **checks.as_rider_sees(looked)}
            elif _is_there(view.overlay, form):
                return redirect("catalogue:list")
            else:
                change_draft(change=lambda overlay: _with(overlay, form), by=request.user)
                messages.success(request, _("Kept in the draft. Riders see it once the draft is published."))
                return redirect("catalogue:check", key)
        except CatalogueError as error:
            form.refuse(error.problems)
    return render(request, "catalogue/own.html", context, status=422 if form.errors else 200)


def edit(request: HtmxRequest, view: OwnersView, check: Check) -> HttpResponse:
    """Change a check of the studio's own."""
    key = check.key
    initial = own_initial(view.raw(key), view.overlay.get("own_remedies", [])) | {"seen": view.mark(key)}
    form = OwnCheckForm(key, view.everything.remedies, data=request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        try:
            if request.POST.get("do") == checks.LOOK:
                check = _would_be(view, form)
            else:
                seen = form.cleaned_data["seen"]
                change_draft(change=lambda overlay: _with(overlay, form), by=request.user, key=key, seen=seen)
                messages.success(request, _("Kept in the draft. Riders see it once the draft is published."))
                return redirect("catalogue:check", key)
        except CatalogueError as error:
            form.refuse(error.problems)
        except DraftChangedError:
            form = checks.stale(form, view, key)
    return checks.show(request, view, check, form, "catalogue/own.html")


def _with(overlay: Overlay, form: OwnCheckForm) -> Overlay:
    """Return the overlay with this check, in its place where it is there already, and its own remedy."""
    listed = overlay.get("own_checks", [])
    if any(each["key"] == form.key for each in listed):
        listed = [form.check if each["key"] == form.key else each for each in listed]
    else:
        listed = [*listed, form.check]
    remedies = [each for each in overlay.get("own_remedies", []) if each["key"] != form.remedy_key]
    return {**overlay, "own_checks": listed, "own_remedies": [*remedies, *([form.remedy] if form.remedy else [])]}


def _is_there(overlay: Overlay, form: OwnCheckForm) -> bool:
    """Return whether the same check was added a moment ago: a form sent twice adds one."""
    made = {name: value for name, value in form.check.items() if name not in ("key", "faults")}
    return any({**each, **made} == each for each in overlay.get("own_checks", []))


def _would_be(view: OwnersView, form: OwnCheckForm) -> Check:
    everything_on = {name: value for name, value in view.overlay.items() if name != "off"}
    return overlaid(view.base, _with(everything_on, form)).check(form.key)


@owner_page
@require_POST
def remove(request: HtmxRequest, key: str) -> HttpResponse:
    """Take a check of the studio's own out of the draft; its answers stay readable."""
    view = owners_view()
    checks.shown_check(view, key)

    def change(overlay: Overlay) -> Overlay:
        gone = {
            "own_checks": [each for each in overlay.get("own_checks", []) if each["key"] != key],
            "own_remedies": [each for each in overlay.get("own_remedies", []) if each["key"] != f"{key}_remedy"],
            "off": [each for each in overlay.get("off", []) if each != key],
        }
        return {**overlay, **gone}

    try:
        if key in {each["key"] for each in view.overlay.get("own_checks", [])}:
            change_draft(change=change, by=request.user)
            messages.success(request, _("Taken out of the draft."))
    except CatalogueError as error:
        messages.error(request, str(error))
    return redirect("catalogue:list")

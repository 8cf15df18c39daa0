"""The list of checks, and one check: its words and figures beside how the rider will see it."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fitstudio.catalogue.forms.edits import CheckEditForm
from fitstudio.catalogue.selectors import OwnersView, owners_view
from fitstudio.catalogue.views import own
from intake.catalogue.errors import CatalogueError
from intake.catalogue.overlay import OWN, dependents, overlaid
from intake.catalogue.schema import Check
from intake.edge.access import owner_page
from intake.edge.http import HtmxRequest
from intake.forms.answers import AnswerForm
from intake.models.clients import LengthUnit
from intake.services.editions import DraftChangedError, change_draft

LOOK = "look"


@owner_page
@require_safe
def listing(request: HtmxRequest) -> HttpResponse:
    """Show every check, on or off."""
    return render(request, "catalogue/list.html", {"section": "studio", "view": owners_view()})


def shown_check(view: OwnersView, key: str) -> Check:
    """Return a check of the owner's list, or a 404."""
    for check in view.everything.checks:
        if check.key == key:
            return check
    raise Http404


@owner_page
@require_http_methods(["GET", "HEAD", "POST"])
def check(request: HtmxRequest, key: str) -> HttpResponse:
    """Show a check in plain fields; keep what was typed in the draft, or only show what the rider would see."""
    view = owners_view()
    found = shown_check(view, key)
    if key.startswith(OWN):
        return own.edit(request, view, found)
    form = CheckEditForm(view.shipped(key), view.raw(key), data=request.POST or None, initial={"seen": view.mark(key)})
    looked = found
    if request.method == "POST" and form.is_valid():
        try:
            if request.POST.get("do") == LOOK:
                looked = _would_be(view, key, form.edit)
            else:
                change_draft(
                    change=lambda overlay: _edited(overlay, key, form.edit), by=request.user, **_seen(form, key)
                )
                messages.success(request, _("Kept in the draft. Riders see it once the draft is published."))
                return redirect("catalogue:check", key)
        except CatalogueError as error:
            form.refuse(error.problems)
        except DraftChangedError:
            form = stale(form, view, key)
    return show(request, view, looked, form)


def _seen(form: CheckEditForm, key: str) -> dict[str, Any]:
    return {"key": key, "seen": form.cleaned_data["seen"]}


def stale(form: Any, view: OwnersView, key: str) -> Any:
    """Return the form with what was typed, now knowing what somebody else has kept meanwhile."""
    form.add_error(
        None, _("Somebody changed this check after you opened it. What you typed is still here: save again to keep it.")
    )
    form.data = form.data.copy()
    form.data["seen"] = view.mark(key)
    return form


def _edited(overlay: dict[str, Any], key: str, edit: dict[str, Any]) -> dict[str, Any]:
    return {**overlay, "checks": {**overlay.get("checks", {}), key: edit}}


def _would_be(view: OwnersView, key: str, edit: dict[str, Any]) -> Check:
    everything_on = {name: value for name, value in view.overlay.items() if name != "off"}
    return overlaid(view.base, _edited(everything_on, key, edit)).check(key)


def show(
    request: HtmxRequest, view: OwnersView, check: Check, form: Any, template: str = "catalogue/check.html"
) -> HttpResponse:
    """Render the page of one check."""
    context = {
        "section": "studio",
        "view": view,
        "row": view.row(check),
        "check": check,
        "form": form,
        "needed_by": needed_by(view, check.key),
        **as_rider_sees(check),
    }
    return render(request, template, context, status=422 if form.errors else 200)


def as_rider_sees(check: Check) -> dict[str, Any]:
    """Return what the rider's own partials need to show a check."""
    return {"rider_form": AnswerForm(check, unit=LengthUnit.MILLIMETRE, prefix="rider")}


def needed_by(view: OwnersView, key: str) -> list[str]:
    """Return the titles of the checks, switched on, that depend on the answer to this one."""
    names = dependents(key, view.document["checks"])
    return [view.everything.check(name).title for name in names if name not in view.overlay.get("off", [])]


@owner_page
@require_POST
def switch(request: HtmxRequest, key: str) -> HttpResponse:
    """Switch a check off or on in the draft, as the button said."""
    shown_check(owners_view(), key)
    off = request.POST.get("to") == "off"

    def change(overlay: dict[str, Any]) -> dict[str, Any]:
        rest = [each for each in overlay.get("off", []) if each != key]
        return {**overlay, "off": [*rest, key] if off else rest}

    try:
        change_draft(change=change, by=request.user)
        messages.success(request, _("Switched off in the draft.") if off else _("Switched on in the draft."))
    except CatalogueError as error:
        messages.error(request, str(error))
    return redirect("catalogue:check", key)


@owner_page
@require_POST
def take_back(request: HtmxRequest, key: str) -> HttpResponse:
    """Return a check to its shipped words and figures in the draft."""
    shown_check(owners_view(), key)
    try:
        change_draft(change=lambda overlay: _edited(overlay, key, {}), by=request.user)
        messages.success(request, _("As shipped again, in the draft."))
    except CatalogueError as error:
        messages.error(request, str(error))
    return redirect("catalogue:check", key)

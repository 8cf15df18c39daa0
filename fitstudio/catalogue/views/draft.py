"""The draft before it is published, and the editions that were."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fitstudio.catalogue.forms.editions import EditionForm, PublishForm
from fitstudio.catalogue.selectors import OwnersView, editions_shown, owners_view
from intake.catalogue.errors import CatalogueError
from intake.catalogue.overlay import overlaid
from intake.edge.access import owner_page
from intake.edge.http import HtmxRequest
from intake.models import CatalogueEdition
from intake.selectors.editions import published_editions
from intake.services import editions as service
from sessions.selectors.review.what_if import WhatIf, what_if
from sessions.services.review.summaries import refresh_stale


@owner_page
@require_http_methods(["GET", "HEAD", "POST"])
def draft(request: HtmxRequest) -> HttpResponse:
    """Show what the draft changes, in words and in verdicts on coming sessions; publish it with a note."""
    form = PublishForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            service.publish(**form.cleaned_data, by=request.user)
            refresh_stale()
            messages.success(request, _("Published. Riders are asked this edition from now on."))
            return redirect("catalogue:editions")
        except service.DraftChangedError:
            form.add_error(
                None,
                _(
                    "The draft was changed, published or discarded after you opened it. Look at it again before you publish."
                ),
            )
        except service.NothingChangedError:
            form.add_error(None, _("The draft says what is in force already: there is nothing to publish."))
        except CatalogueError as error:
            form.add_error(None, [str(problem) for problem in error.problems])
    view = owners_view()
    return _show_draft(request, view, form)


def _show_draft(request: HtmxRequest, view: OwnersView, form: PublishForm) -> HttpResponse:
    if view.draft is not None:
        now = {"number": view.draft.number, "revision": view.draft.revision}
        if form.is_bound:
            form.data = form.data.copy() | now
            form.data.update(now)
        form.initial = now
    context = {"section": "studio", "view": view, "form": form, "changes": view.changes, "what_if": _moved(view)}
    return render(request, "catalogue/draft.html", context, status=422 if form.errors else 200)


def _moved(view: OwnersView) -> WhatIf | None:
    if view.draft is None or view.troubles:
        return None
    return what_if(catalogue=overlaid(view.base, view.overlay, view.draft.number))


@owner_page
@require_POST
def throw_away(request: HtmxRequest) -> HttpResponse:
    """Discard the draft that the page showed."""
    form = EditionForm(request.POST)
    if form.is_valid():
        service.discard(number=form.cleaned_data["number"])
        messages.success(request, _("The draft is discarded."))
    return redirect("catalogue:list")


@owner_page
@require_POST
def mend(request: HtmxRequest) -> HttpResponse:
    """Take out of the draft what the shipped catalogue no longer has."""
    if owners_view().troubles:
        service.mend_draft(by=request.user)
        messages.success(request, _("What no longer fits is taken out. Look at the draft and publish it."))
    return redirect("catalogue:draft")


@owner_page
@require_safe
def editions(request: HtmxRequest) -> HttpResponse:
    """Show every edition that was asked, with what it changed."""
    context = {"section": "studio", "editions": editions_shown(), "view": owners_view()}
    return render(request, "catalogue/editions.html", context)


@owner_page
@require_POST
def restore(request: HtmxRequest) -> HttpResponse:
    """Begin a draft from an earlier edition, or from the catalogue as it is shipped."""
    form = EditionForm(request.POST)
    if not form.is_valid():
        return redirect("catalogue:editions")
    number = form.cleaned_data["number"]
    earlier: CatalogueEdition | None = get_object_or_404(published_editions(), number=number) if number else None
    try:
        service.start_from(overlay=earlier.overlay if earlier else {}, by=request.user)
    except service.DraftOpenError:
        messages.error(request, _("A draft is open. Publish or discard it first, so that nothing in it is lost."))
    return redirect("catalogue:draft")

"""The owner's figures: a page, and each of its tables to take away."""

from http import HTTPStatus
from typing import Any
from urllib.parse import urlencode

from django.http import Http404, HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_safe

from intake.edge.access import owner_page
from intake.edge.http import HtmxRequest
from sessions.forms.figures.choice import EVER, USUAL, FiguresForm
from sessions.models import Service, Studio
from sessions.selectors.figures.exports import EXPORTS
from sessions.selectors.figures.held import held_sessions
from sessions.selectors.figures.page import Figures
from sessions.sheets.svg import scene_svg


@owner_page
@require_safe
def figures(request: HtmxRequest) -> HttpResponse:
    """Show what came of the chosen sessions."""
    form = _choice(request)
    if not form.is_valid():
        return _page(request, form, None, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    return _page(request, form, Figures(_held(form)))


@owner_page
@require_safe
def export(request: HtmxRequest, table: str) -> HttpResponse | StreamingHttpResponse:
    """Send one table of the chosen sessions, line by line."""
    if table not in EXPORTS:
        raise Http404
    form = _choice(request)
    if not form.is_valid():
        return _page(request, form, None, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    sessions, studio = _held(form), form.cleaned_data["studio"]
    today = timezone.localdate(timezone=studio.zone) if studio else timezone.localdate()
    return StreamingHttpResponse(
        EXPORTS[table].lines(sessions),
        content_type="text/csv; charset=utf-8; header=present",
        headers={"Content-Disposition": f'attachment; filename="{table}-{today:%Y-%m-%d}.csv"'},
    )


def _choice(request: HtmxRequest) -> FiguresForm:
    studios = Studio.objects.order_by("-is_active", "pk")
    first = studios.first()
    usual = {"studio": first.pk if first else "", "months": USUAL}
    data = usual | {name: value for name, value in request.GET.items() if value}
    return FiguresForm(data, studios=studios, services=Service.objects.select_related("studio"))


def _held(form: FiguresForm) -> list[Any]:
    chosen = form.cleaned_data
    if chosen["studio"] is None:
        return []
    today = timezone.localdate(timezone=chosen["studio"].zone)
    return held_sessions(studio=chosen["studio"], first_day=form.first_day(today), service=chosen["service"])


def _page(request: HtmxRequest, form: FiguresForm, shown: Figures | None, *, status: int = 200) -> HttpResponse:
    context: dict[str, Any] = {"form": form, "figures": shown, "section": "studio", "ever": EVER}
    context["several_studios"] = form.fields["studio"].queryset.count() > 1
    if shown is not None:
        chosen = {name: getattr(value, "pk", value) for name, value in form.cleaned_data.items() if value}
        context |= {"query": urlencode(chosen), "exports": EXPORTS.items()}
    if shown is not None and shown.sessions:
        context["moves"] = mark_safe(scene_svg(shown.moves_scene(), ident="moves"))
        context["pairs"] = mark_safe(scene_svg(shown.pairs_scene(), ident="pairs")) if shown.pair_rows else ""
    return render(request, "sessions/figures/page.html", context, status=status)

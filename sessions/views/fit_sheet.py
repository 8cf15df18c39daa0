"""The fit sheet as a page and as a print, for staff at any time and for the rider once the session is closed."""

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.http import content_disposition_header
from django.utils.safestring import mark_safe
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from intake.edge.access import rider_page, staff_page
from intake.models import RiderLink
from sessions.models import FitRecord
from sessions.models.studios import Paper
from sessions.selectors.bench.records import Bench, bench_of, bench_of_check
from sessions.selectors.bench.sheet_content import fit_sheet_of
from sessions.selectors.bench.sheet_rows import NARROW, WIDE
from sessions.sheets.bike_view import bike_view
from sessions.sheets.content import FitSheet
from sessions.sheets.fit_sheet import fit_sheet_pdf
from sessions.sheets.front_view import front_view
from sessions.sheets.svg import scene_svg
from sessions.views.rendering import render_at


class PaperForm(forms.Form):
    """The paper that an address asks for."""

    paper = forms.ChoiceField(choices=Paper.choices, required=False)

    def wanted(self, usual: str) -> str:
        """Return the paper asked for, the studio's own where none or an unknown one is."""
        return (self.is_valid() and self.cleaned_data["paper"]) or usual


@staff_page
@require_safe
def bench_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the sheet as it stands, finished or not."""
    bench = bench_of(pk)
    if bench.record is None:
        return _nothing_yet(request, pk)
    return _page(request, bench, {"back": "bench", "is_draft": not bench.is_closed})


@staff_page
@require_safe
def bench_sheet_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """Print the sheet as it stands."""
    bench = bench_of(pk)
    return _nothing_yet(request, pk) if bench.record is None else _print(request, bench)


def _nothing_yet(request: HttpRequest, pk: int) -> HttpResponse:
    messages.warning(request, _("Nothing has been recorded in this session yet."))
    return redirect("bench:home", pk)


@rider_page
@require_safe
def rider_sheet(request: HttpRequest, link: RiderLink) -> HttpResponse:
    """Show the rider the finished sheet."""
    bench = bench_of_check(link.pre_visit_id)
    if not bench.is_closed:
        return _not_yet(request, bench, link)
    return _page(request, bench, {"back": "rider", "link": link})


@rider_page
@require_safe
def rider_sheet_pdf(request: HttpRequest, link: RiderLink) -> HttpResponse:
    """Print the finished sheet for the rider."""
    bench = bench_of_check(link.pre_visit_id)
    return _print(request, bench) if bench.is_closed else redirect("rider:fit_sheet", link.token)


def _sheet(request: HttpRequest, bench: Bench) -> FitSheet:
    record: FitRecord = bench.record
    return fit_sheet_of(record, paper=PaperForm(request.GET).wanted(bench.fit_session.studio.paper))


def _page(request: HttpRequest, bench: Bench, extra: dict[str, object]) -> HttpResponse:
    sheet = _sheet(request, bench)
    front = front_view(sheet.points_before, sheet.points_after, style=sheet.style, words=sheet.words.drawing)
    context = {
        "sheet": sheet,
        "fit_session": bench.fit_session,
        "bench": bench,
        "side_wide": _side_svg(sheet, "side", WIDE),
        "side_narrow": _side_svg(sheet, "side-narrow", NARROW),
        "front_svg": mark_safe(scene_svg(front.scene, ident="front")) if front else "",
        "papers": Paper.choices,
    }
    return render_at(bench.fit_session.studio, request, "sessions/fit_sheet/page.html", context | extra)


def _side_svg(sheet: FitSheet, ident: str, room: dict[str, Any]) -> str:
    view = bike_view(
        sheet.points_before,
        sheet.points_after,
        facts=sheet.facts,
        style=sheet.style,
        words=sheet.words.drawing,
        **room,
    )
    return mark_safe(scene_svg(view.scene, ident=ident))


def _print(request: HttpRequest, bench: Bench) -> HttpResponse:
    response = HttpResponse(fit_sheet_pdf(_sheet(request, bench)), content_type="application/pdf")
    response["Content-Disposition"] = content_disposition_header(as_attachment=False, filename=_filename(bench))
    return response


def _filename(bench: Bench) -> str:
    """Return a plain name for the file: the day and, where it has Latin letters, the rider's name."""
    fit_session = bench.fit_session
    day = fit_session.starts_at.astimezone(fit_session.studio.zone).date()
    name = slugify(fit_session.client.latin_name or fit_session.client.name)[:60].strip("-")
    return "-".join(part for part in ("fit-sheet", day.isoformat(), name) if part) + ".pdf"


def _not_yet(request: HttpRequest, bench: Bench, link: RiderLink) -> HttpResponse:
    context = {"fit_session": bench.fit_session, "link": link, "bench": bench}
    return render_at(bench.fit_session.studio, request, "sessions/fit_sheet/not_yet.html", context)

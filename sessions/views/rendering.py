"""Pages in the studio's own time."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from sessions.models import Studio


def render_at(
    studio: Studio, request: HttpRequest, template: str, context: dict[str, object], *, status: int = 200
) -> HttpResponse:
    """Render a page whose times are what the studio's clock shows."""
    with timezone.override(studio.zone):
        return render(request, template, {"studio": studio, **context}, status=status)

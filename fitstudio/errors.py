"""The pages shown when something cannot be done."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Say kindly that the form was too old to be trusted, and how to go on."""
    return render(request, "403_csrf.html", {"reason": reason}, status=403)

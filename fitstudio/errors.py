"""The pages shown when something cannot be done."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed
from django.shortcuts import render


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Say kindly that the form was too old to be trusted, and how to go on."""
    return render(request, "403_csrf.html", {"reason": reason}, status=403)


class WrongMethodPage:
    """Middleware that gives Django's empty answer to a wrong method a page with a way back."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        """Keep the next step."""
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Replace an empty 405 by the page, keeping which methods are allowed."""
        response = self.get_response(request)
        if not isinstance(response, HttpResponseNotAllowed) or response.content:
            return response
        page = render(request, "405.html", status=405)
        page["Allow"] = response["Allow"]
        return page

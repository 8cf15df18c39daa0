"""One request, one catalogue."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from intake.selectors.catalogue import one_catalogue


class OneCatalogue:
    """Middleware that lets a request see the same catalogue from its first line to its last."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        """Keep the next step."""
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Hand the request on."""
        with one_catalogue():
            return self.get_response(request)

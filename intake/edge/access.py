"""Who may open a page. Every view carries one of these decorators, and a test walks every address to prove it."""

from collections.abc import Callable
from functools import wraps

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.cache import add_never_cache_headers, patch_vary_headers

from intake.services.links import LinkClosedError, LinkUnknownError, open_link

View = Callable[..., HttpResponse]


def _private(response: HttpResponse) -> HttpResponse:
    add_never_cache_headers(response)
    response["X-Robots-Tag"] = "noindex"
    patch_vary_headers(response, ["HX-Request"])
    return response


def public_page(view: View) -> View:
    """Mark a page as meant for everybody."""

    @wraps(view)
    def opened(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
        response = view(request, *args, **kwargs)
        patch_vary_headers(response, ["HX-Request"])
        return response

    opened.access = "public"
    return opened


def staff_page(view: View) -> View:
    """Let in anybody who works at the studio; send others to the log-in."""

    @wraps(view)
    def opened(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
        return _private(view(request, *args, **kwargs))

    guarded = login_required(opened)
    guarded.access = "staff"
    return guarded


def rider_page(view: View) -> View:
    """Turn the token of a private link into its ``RiderLink``, or say kindly why it opens nothing."""

    @wraps(view)
    def opened(request: HttpRequest, token: str, *args: object, **kwargs: object) -> HttpResponse:
        try:
            link = open_link(token)
        except LinkUnknownError:
            return _private(render(request, "404.html", status=404))
        except LinkClosedError:
            return _private(render(request, "410.html", status=410))
        return _private(view(request, link, *args, **kwargs))

    opened.access = "rider"
    return opened

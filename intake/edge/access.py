"""Who may open a page. Every view carries one of these decorators, and a test walks every address to prove it."""

from collections.abc import Callable
from functools import wraps

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.cache import add_never_cache_headers, patch_vary_headers

from intake.services.job_links import JobLinkClosedError, job_link, open_job_link
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
    """Let in anybody who works at the studio; send others to the log-in.

    What a page asks for or saves in place after its log-in has ended gets a bare 403: the log-in would be swapped into the page,
    over what was typed. The page then says by itself that it has to be loaded again.
    """

    @wraps(view)
    def opened(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
        if request.user.is_authenticated:
            return _private(view(request, *args, **kwargs))
        return HttpResponse(status=403) if request.htmx else redirect_to_login(request.get_full_path())

    opened.access = "staff"
    return opened


def owner_page(view: View) -> View:
    """Let in owners only: strangers are sent to the log-in as from any staff page, other staff are told that it is not theirs."""

    @wraps(view)
    def opened(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
        if not request.user.is_owner:
            raise PermissionDenied
        return view(request, *args, **kwargs)

    let_in = staff_page(opened)
    let_in.access = "owner"
    return let_in


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


def workshop_page(view: View) -> View:
    """Turn the token of a workshop's private link into its ``JobLink``; a closed one leads to where a new one can be asked for."""

    @wraps(view)
    def opened(request: HttpRequest, token: str, *args: object, **kwargs: object) -> HttpResponse:
        try:
            link = open_job_link(token)
        except LinkUnknownError:
            return _private(render(request, "404.html", status=404))
        except JobLinkClosedError as closed:
            return _private(render(request, "intake/workshops/link_closed.html", {"link": closed.link}, status=410))
        return _private(view(request, link, *args, **kwargs))

    opened.access = "workshop"
    return opened


def closed_workshop_page(view: View) -> View:
    """Turn the token of a workshop's private link into its ``JobLink``, also where it no longer opens its sheet."""

    @wraps(view)
    def opened(request: HttpRequest, token: str, *args: object, **kwargs: object) -> HttpResponse:
        try:
            link = job_link(token)
        except LinkUnknownError:
            return _private(render(request, "404.html", status=404))
        return _private(view(request, link, *args, **kwargs))

    opened.access = "workshop"
    return opened

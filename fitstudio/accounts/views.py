"""The one page of Django's own log-in that must know where the product is reached."""

from django.conf import settings
from django.contrib.auth.views import PasswordResetView
from django.http import HttpRequest, HttpResponse


def forgotten_password(request: HttpRequest) -> HttpResponse:
    """Mail a link to set a new password. It begins with our own address: the host of a request is what its sender claims."""
    return PasswordResetView.as_view(extra_email_context={"site_url": settings.SITE_URL})(request)

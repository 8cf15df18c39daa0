"""The request as our views see it: with htmx's headers read and a member of staff as its user."""

from django.http import HttpRequest
from django_htmx.middleware import HtmxDetails


class HtmxRequest(HttpRequest):
    """A request that has passed the htmx middleware."""

    htmx: HtmxDetails

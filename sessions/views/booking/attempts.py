"""Try to book what a form asks for, and put every refusal beside its field; riders' and desk's pages share it."""

from django.contrib.auth.models import AbstractBaseUser

from sessions.forms.booking.rider import BookingForm
from sessions.models import Service
from sessions.selectors.booking.offers import other_starts
from sessions.services.booking.book import Booking, book
from sessions.services.booking.errors import DiaryRefusal, RequestUsedError

INVALID = 422


def try_to_book(
    form: BookingForm, service: Service, *, by: AbstractBaseUser | None = None, with_notice: bool = True
) -> Booking | None:
    """Return the booking, or None with the reasons in the form and everything that was typed still there."""
    wanted = None
    if form.is_valid():
        wanted = form.cleaned_data["start"]
        try:
            return book(service=service, **form.asked(), by=by, with_notice=with_notice)
        except RequestUsedError as refusal:
            form.key_refused(refusal)
        except DiaryRefusal as refusal:
            form.start_refused(refusal)
    if form.has_error("request_key"):
        form.renew()
    if form.has_error("start"):
        others = other_starts(service, wanted, with_notice=with_notice, **form.named())
        form.offer(others, service.studio.zone)
    return None

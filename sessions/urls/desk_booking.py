"""The desk books for a caller, and looks after what is booked."""

from django.urls import path

from sessions.views.booking import desk as desk_booking
from sessions.views.booking import desk_session, paper_form

app_name = "desk_booking"
urlpatterns = [
    path("", desk_booking.start, name="start"),
    path("<int:service_pk>/", desk_booking.starts, name="starts"),
    path("<int:service_pk>/details/", desk_booking.details, name="details"),
    path("sessions/<int:pk>/", desk_session.session, name="session"),
    path("sessions/<int:pk>/state/", desk_session.state, name="state"),
    path("sessions/<int:pk>/cancel/", desk_session.cancel, name="cancel"),
    path("sessions/<int:pk>/move/", desk_session.move, name="move"),
    path("sessions/<int:pk>/move/to/", desk_session.move_to, name="move_to"),
    path("sessions/<int:pk>/paper-form.pdf", paper_form.for_desk, name="paper_form"),
]

"""The pages on which anybody books a session."""

from django.urls import path

from sessions.views.booking import public as booking

app_name = "booking"
urlpatterns = [
    path("", booking.services, name="services"),
    path("book/<slug:studio_slug>/<slug:service_slug>/", booking.starts, name="starts"),
    path("book/<slug:studio_slug>/<slug:service_slug>/details/", booking.details, name="details"),
]

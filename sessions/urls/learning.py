"""What the studio has learned, for owners."""

from django.urls import path

from sessions.views.learning import pages

app_name = "learning"
urlpatterns = [
    path("experience/", pages.experience, name="experience"),
    path("experience/weights/", pages.weights, name="weights"),
    path("calibration/", pages.forecasts, name="calibration"),
]

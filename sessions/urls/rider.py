"""The pages behind a rider's private link, less those of the check."""

from django.urls import path

from sessions.views import paper_form, rider

app_name = "rider"
urlpatterns = [
    path("", rider.home, name="home"),
    path("session.ics", rider.invitation, name="invitation"),
    path("paper-form.pdf", paper_form.for_rider, name="paper_form"),
]

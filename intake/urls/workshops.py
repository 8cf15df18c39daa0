"""The studio's list of workshops."""

from django.urls import path

from intake.views import workshops

app_name = "workshops"
urlpatterns = [
    path("", workshops.workshops, name="list"),
    path("new/", workshops.new, name="new"),
    path("<int:workshop_pk>/", workshops.edit, name="edit"),
    path("<int:workshop_pk>/use/", workshops.use, name="use"),
]

"""The owner's figures."""

from django.urls import path

from sessions.views.figures import page

app_name = "figures"
urlpatterns = [
    path("", page.figures, name="page"),
    path("<slug:table>.csv", page.export, name="export"),
]

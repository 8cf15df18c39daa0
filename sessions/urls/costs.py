"""What remedies cost at each studio."""

from django.urls import path

from sessions.views import costs

app_name = "costs"
urlpatterns = [
    path("", costs.costs, name="page"),
    path("<slug:studio_slug>/", costs.costs, name="studio"),
]

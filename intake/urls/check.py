"""The pre-visit check under a rider's private link."""

from django.urls import path

from intake.views import check

app_name = "check"
urlpatterns = [
    path("", check.start, name="start"),
    path("question/<slug:key>/", check.question, name="question"),
    path("discomfort/", check.discomfort, name="discomfort"),
    path("discomfort/<slug:key>/", check.place, name="place"),
    path("finish/", check.finish, name="finish"),
    path("advice/", check.advice, name="advice"),
]

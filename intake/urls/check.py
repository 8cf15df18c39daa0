"""The pre-visit check under a rider's private link."""

from django.urls import path

from intake.views import check, rider_repairs

app_name = "check"
urlpatterns = [
    path("", check.start, name="start"),
    path("sheet/", check.sheet, name="sheet"),
    # One of the steps, under the address that a question of this name would have.
    path("question/discomfort/", check.discomfort, name="discomfort"),
    path("question/discomfort/<slug:key>/", check.place, name="place"),
    path("question/<slug:key>/", check.question, name="question"),
    path("few/", check.few, name="few"),
    path("changed/", check.outcomes, name="outcomes"),
    path("changed/<slug:key>/", check.outcome, name="outcome"),
    path("finish/", check.finish, name="finish"),
    path("advice/", check.advice, name="advice"),
    path("fixed/<str:finding_key>/", rider_repairs.fixed, name="fixed"),
    path("fixed/<str:finding_key>/back/", rider_repairs.back, name="came_back"),
    path("photo/<int:photo_pk>/", rider_repairs.photo, name="photo"),
]

"""The pre-visit check as the desk fills it in for a caller."""

from django.urls import path

from intake.views import desk_check

app_name = "desk_check"
urlpatterns = [
    path("<int:pk>/", desk_check.start, name="start"),
    path("<int:pk>/sheet/", desk_check.sheet, name="sheet"),
    # One of the steps, under the address that a question of this name would have.
    path("<int:pk>/question/discomfort/", desk_check.discomfort, name="discomfort"),
    path("<int:pk>/question/discomfort/<slug:key>/", desk_check.place, name="place"),
    path("<int:pk>/question/<slug:key>/", desk_check.question, name="question"),
    path("<int:pk>/finish/", desk_check.finish, name="finish"),
    path("<int:pk>/advice/", desk_check.advice, name="advice"),
    path("<int:pk>/photo/<int:photo_pk>/", desk_check.photo, name="photo"),
]

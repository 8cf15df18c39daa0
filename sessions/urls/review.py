"""The desk's review: the list of coming sessions, the triage of each, and every decision on it."""

from django.urls import path

from sessions.views.review import decisions, plans, repairs, rider_letters, slot
from sessions.views.review import pages as review

app_name = "review"
urlpatterns = [
    path("", review.review_list, name="list"),
    path("<int:pk>/", review.session, name="session"),
    path("<int:pk>/findings/", decisions.rule, name="rule"),
    path("<int:pk>/red-flags/", decisions.acknowledge, name="acknowledge"),
    path("<int:pk>/confirm/", decisions.confirm, name="confirm"),
    path("<int:pk>/few-questions/", rider_letters.few, name="few"),
    path("<int:pk>/offer/", rider_letters.offer, name="offer"),
    path("<int:pk>/plans/", plans.agree, name="agree"),
    path("<int:pk>/repairs/", repairs.answer, name="repair"),
    path("<int:pk>/slot/<slug:choice>/", slot.slot, name="slot"),
]

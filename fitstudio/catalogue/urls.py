"""The owner's pages about what is asked, and from where verdicts change."""

from django.urls import path

from fitstudio.catalogue.views import checks, draft, own, thresholds

app_name = "catalogue"
urlpatterns = [
    path("catalogue/", checks.listing, name="list"),
    path("catalogue/checks/<str:key>/", checks.check, name="check"),
    path("catalogue/checks/<str:key>/switch/", checks.switch, name="switch"),
    path("catalogue/checks/<str:key>/shipped/", checks.take_back, name="take_back"),
    path("catalogue/own/new/", own.new, name="new"),
    path("catalogue/own/<str:key>/remove/", own.remove, name="remove"),
    path("catalogue/draft/", draft.draft, name="draft"),
    path("catalogue/draft/discard/", draft.throw_away, name="discard"),
    path("catalogue/draft/mend/", draft.mend, name="mend"),
    path("catalogue/editions/", draft.editions, name="editions"),
    path("catalogue/editions/restore/", draft.restore, name="restore"),
    path("thresholds/", thresholds.studios, name="thresholds"),
    path("thresholds/<slug:studio_slug>/", thresholds.thresholds, name="studio_thresholds"),
]

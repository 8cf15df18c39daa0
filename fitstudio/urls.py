"""Every address of the product, by the person who opens it."""

from django.contrib import admin
from django.contrib.auth.urls import urlpatterns as auth_urls
from django.urls import include, path

from fitstudio.accounts.views import forgotten_password

urlpatterns = [
    path("", include("sessions.urls.booking")),
    path("r/<str:token>/", include("sessions.urls.rider")),
    path("r/<str:token>/check/", include("intake.urls.check")),
    path("w/<str:token>/", include("sessions.urls.workshop")),
    path("desk/", include("fitstudio.desk.urls")),
    path("desk/studio/", include("fitstudio.catalogue.urls")),
    path("desk/booking/", include("sessions.urls.desk_booking")),
    path("desk/review/", include("sessions.urls.review")),
    path("desk/review/<int:pk>/job-sheets/", include("sessions.urls.job_sheets")),
    path("desk/workshops/", include("intake.urls.workshops")),
    path("desk/studio/", include("sessions.urls.learning")),
    path("desk/studio/costs/", include("sessions.urls.costs")),
    path("desk/studio/figures/", include("sessions.urls.figures")),
    path("desk/bench/", include("sessions.urls.bench")),
    path("desk/checks/", include("intake.urls.desk_check")),
    path("accounts/password_reset/", forgotten_password, name="password_reset"),
    path("accounts/", include(auth_urls)),
    path("records/", admin.site.urls),
]

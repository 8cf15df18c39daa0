"""The pages behind a rider's private link, less those of the check."""

from django.urls import path

from sessions.views import fit_sheet
from sessions.views.booking import paper_form, rider

app_name = "rider"
urlpatterns = [
    path("", rider.home, name="home"),
    path("session.ics", rider.invitation, name="invitation"),
    path("paper-form.pdf", paper_form.for_rider, name="paper_form"),
    path("fit-sheet/", fit_sheet.rider_sheet, name="fit_sheet"),
    path("fit-sheet.pdf", fit_sheet.rider_sheet_pdf, name="fit_sheet_pdf"),
]

"""The pages behind a rider's private link, less those of the check."""

from django.urls import path

from sessions.views import fit_sheet
from sessions.views.booking import paper_form, rider
from sessions.views.workshop import rider as workshop

app_name = "rider"
urlpatterns = [
    path("", rider.home, name="home"),
    path("coming/", rider.confirm, name="confirm"),
    path("session.ics", rider.invitation, name="invitation"),
    path("paper-form.pdf", paper_form.for_rider, name="paper_form"),
    path("fit-sheet/", fit_sheet.rider_sheet, name="fit_sheet"),
    path("fit-sheet.pdf", fit_sheet.rider_sheet_pdf, name="fit_sheet_pdf"),
    path("workshop/", workshop.sheets, name="job_sheets"),
    path("workshop/<int:sheet_pk>/", workshop.sheet, name="job_sheet"),
    path("workshop/<int:sheet_pk>/share/", workshop.share, name="job_sheet_share"),
    path("workshop/<int:sheet_pk>/mail/", workshop.mail, name="job_sheet_mail"),
    path("workshop/<int:sheet_pk>/close/", workshop.close, name="job_sheet_close"),
    path("workshop/<int:sheet_pk>/job-sheet.pdf", workshop.pdf, name="job_sheet_pdf"),
]

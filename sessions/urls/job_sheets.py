"""Job sheets of one session at the desk."""

from django.urls import path

from sessions.views.workshop import desk

app_name = "job_sheets"
urlpatterns = [
    path("new/", desk.new, name="new"),
    path("<int:sheet_pk>/", desk.sheet, name="sheet"),
    path("<int:sheet_pk>/mail/", desk.mail, name="mail"),
    path("<int:sheet_pk>/close/", desk.close, name="close"),
    path("<int:sheet_pk>/renew/", desk.renew, name="renew"),
    path("<int:sheet_pk>/job-sheet.pdf", desk.pdf, name="pdf"),
]

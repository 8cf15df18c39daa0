"""The pages behind a workshop's private link."""

from django.urls import path

from sessions.views.workshop import workshop

app_name = "workshop"
urlpatterns = [
    path("", workshop.sheet, name="sheet"),
    path("lines/<int:line_pk>/", workshop.answer, name="answer"),
    path("job-sheet.pdf", workshop.pdf, name="pdf"),
    path("new-link/", workshop.ask, name="ask"),
]

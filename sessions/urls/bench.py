"""The bench: one session's record from its start to its closing, and the sheet that comes of it."""

from django.urls import path, register_converter

from intake.models.previsit import Phase
from sessions.views import fit_sheet
from sessions.views.bench import body, closing, closing_parts, home, insertion, parts, readings


class PhaseConverter:
    """Before or after the changes."""

    regex = "|".join(Phase.values)

    def to_python(self, value: str) -> str:
        """Return the phase."""
        return value

    def to_url(self, value: str) -> str:
        """Return its part of the address."""
        if value not in Phase.values:
            raise ValueError(value)
        return str(value)


register_converter(PhaseConverter, "phase")

app_name = "bench"
urlpatterns = [
    path("<int:pk>/", home.home, name="home"),
    path("<int:pk>/begin/", home.begin, name="begin"),
    path("<int:pk>/take-back/", home.take_back, name="take_back"),
    path("<int:pk>/reopen/", home.reopen, name="reopen"),
    path("<int:pk>/unit/", home.unit, name="unit"),
    path("<int:pk>/body/", body.body, name="body"),
    path("<int:pk>/body/<str:measure>/", body.body_measure, name="measure"),
    path("<int:pk>/<phase:phase>/", readings.position, name="position"),
    path("<int:pk>/<phase:phase>/points/", readings.points, name="points"),
    path("<int:pk>/<phase:phase>/pitch/", readings.pitch, name="pitch"),
    path("<int:pk>/<phase:phase>/readings/<str:quantity>/", readings.reading, name="reading"),
    path("<int:pk>/insertion/", insertion.insertion, name="insertion"),
    path("<int:pk>/changes/", parts.changes, name="changes"),
    path("<int:pk>/changes/<slug:kind>/", parts.add, name="add"),
    path("<int:pk>/changes/<slug:kind>/<int:row_pk>/", parts.row, name="row"),
    path("<int:pk>/closing/", closing.closing, name="closing"),
    path("<int:pk>/closing/feels/", closing_parts.feels, name="feels"),
    path("<int:pk>/closing/feels/new/", closing_parts.new_place, name="new_place"),
    path("<int:pk>/closing/notes/", closing_parts.notes, name="notes"),
    path("<int:pk>/closing/next-visit/", closing_parts.next_visit, name="next_visit"),
    path("<int:pk>/closing/safety/", closing_parts.safety, name="safety"),
    path("<int:pk>/closing/time/", closing_parts.time_lost, name="time_lost"),
    path("<int:pk>/closing/time/new/", closing_parts.new_time_lost, name="new_time_lost"),
    path("<int:pk>/closing/time/none/", closing_parts.nothing_lost, name="nothing_lost"),
    path("<int:pk>/closing/close/", closing.close, name="close"),
    path("<int:pk>/fit-sheet/", fit_sheet.bench_sheet, name="fit_sheet"),
    path("<int:pk>/fit-sheet.pdf", fit_sheet.bench_sheet_pdf, name="fit_sheet_pdf"),
]

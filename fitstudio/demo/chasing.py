"""What riders of the demo were reminded of, and a repair that one of them reports with a photo."""

from datetime import time
from io import BytesIO

from PIL import Image, ImageDraw

from fitstudio.demo.clock import clock_at
from fitstudio.demo.days import DemoDays
from intake.models import PreVisitCheck
from intake.selectors.previsit import check_list
from intake.services.photos import Picture, rewritten
from intake.services.repairs import report_fixed
from intake.slots import slot_of
from intake.tasks import send_waiting_mail
from sessions.services.chasing.reminders import send_due_reminders

REPORTER, REPAIRED_CHECK = "zofia.lacka@tarnfell.example", "seat_bolts"
REPORTED_AT, LOOKED_AT = time(18, 20), time(9, 5)
DAYS_LOOKED_BACK = 10


def play_chasing(*, days: DemoDays) -> None:
    """Report the repair, and let the worker look each morning of the last days."""
    with clock_at(days.ago(1, REPORTED_AT)):
        report_one()
    for ago in range(DAYS_LOOKED_BACK, -1, -1):
        with clock_at(days.ago(ago, LOOKED_AT)):
            send_due_reminders()
            send_waiting_mail.call()


def report_one() -> None:
    """Say, as the rider does, that the seat bolts are new."""
    pre_visit = PreVisitCheck.objects.select_related("bike", "client").get(client__email=REPORTER)
    session_slot = slot_of(pre_visit.pk)
    findings = check_list(pre_visit, session_slot).triage.findings
    for finding in findings:
        if finding.check.key == REPAIRED_CHECK:
            report_fixed(
                pre_visit=pre_visit,
                session_slot=session_slot,
                finding_key=finding.key,
                done_by="workshop",
                note="Both bolts are new, with grease on the threads. The post itself is still stuck.",
                picture=drawn_bolt(),
            )


def drawn_bolt() -> Picture:
    """Return a photo that is drawn: a clamp from behind with two bolts."""
    image = Image.new("RGB", (960, 640), "#c9c4b8")
    pen = ImageDraw.Draw(image)
    pen.rounded_rectangle((180, 240, 780, 400), 40, fill="#3c4046", outline="#22252a", width=6)
    for centre in (300, 660):
        pen.ellipse((centre - 70, 250, centre + 70, 390), fill="#aeb4bd", outline="#5b626c", width=5)
        corners = [
            (centre + 34 * x, 320 + 34 * y)
            for x, y in ((1, 0), (0.5, 0.87), (-0.5, 0.87), (-1, 0), (-0.5, -0.87), (0.5, -0.87))
        ]
        pen.polygon(corners, fill="#23262b")
    out = BytesIO()
    image.save(out, "PNG")
    return rewritten(out.getvalue())

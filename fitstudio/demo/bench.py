"""Play what happened at the bench, as far as the clock has come."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from typing import Any

from django.contrib.auth.models import AbstractBaseUser

from fitstudio.demo.clock import clock_at
from fitstudio.demo.files import read
from intake.models.previsit import Phase
from intake.tasks import send_waiting_mail
from sessions.models import FitRecord, FitSession
from sessions.models.fits import SafetyState
from sessions.quantities import quantity
from sessions.safety import lines_for
from sessions.services.bench import closing
from sessions.services.bench import details as fit_details
from sessions.services.bench.readings import Taken, save_readings
from sessions.services.bench.records import begin_record, close_record

# How far into the session each step happens.
BEGUN, MEASURED, CHANGED, MEASURED_AGAIN, CLOSED = 0.0, 0.2, 0.6, 0.8, 0.95
PRINTED_TORQUE = "5 N m"


@dataclass(frozen=True)
class Bench:
    """One session at the bench: its record, what is told of it, and who fits."""

    fit_session: FitSession
    told: dict[str, Any]
    fitter: AbstractBaseUser

    @property
    def record(self) -> FitRecord:
        """Return the record as it is now."""
        return FitRecord.objects.select_related("fit_session").get(fit_session=self.fit_session)

    def at(self, share: float) -> datetime:
        """Return the moment at which this share of the session has passed."""
        length = self.fit_session.ends_at - self.fit_session.starts_at
        return self.fit_session.starts_at + timedelta(seconds=share * length.total_seconds())


def play_record(name: str, *, fit_session: FitSession, fitter: AbstractBaseUser, now: datetime) -> None:
    """Do at the bench whatever would have been done by now."""
    bench = Bench(fit_session, read("records.toml")[name], fitter)
    steps = [
        (BEGUN, partial(begin_record, fit_session=fit_session, by=fitter)),
        (MEASURED, partial(_measure, bench)),
        (CHANGED, partial(_change, bench)),
        (MEASURED_AGAIN, partial(_measure_again, bench)),
        (CLOSED, partial(_close, bench)),
    ]
    for share, step in steps:
        if bench.at(share) <= now:
            with clock_at(bench.at(share)):
                step()


def _taken(readings: dict[str, float]) -> Iterator[tuple[str, Taken]]:
    for key, value in readings.items():
        instrument = quantity(key).instrument
        yield key, Taken(float(value), quantity(key).sigma_of(instrument), instrument.value, f"{value:g}")


def _measure(bench: Bench) -> None:
    for measure, value_mm in bench.told["body"].items():
        fit_details.save_body_measure(record=bench.record, measure=measure, value_mm=value_mm, as_typed=f"{value_mm:g}")
    given = dict(_taken(bench.told["before"]))
    save_readings(record=bench.record, phase=Phase.BEFORE, given=given, by=bench.fitter)


def _change(bench: Bench) -> None:
    for number, change in enumerate(bench.told["changes"]):
        fit_details.add_component_change(record=bench.record, request_key=f"demo-{number}", **change)
    for number, part in enumerate(bench.told.get("parts", [])):
        fit_details.add_part(record=bench.record, request_key=f"demo-{number}", **part)


def _measure_again(bench: Bench) -> None:
    given = dict(_taken(bench.told["after"]))
    save_readings(record=bench.record, phase=Phase.AFTER, given=given, by=bench.fitter)
    for place in bench.told["after_discomfort"]:
        fit_details.save_discomfort_after(record=bench.record, **place)


def _close(bench: Bench) -> None:
    record = bench.record
    fit_details.save_notes(record=record, notes=bench.told["notes"], seen="")
    visit = {
        "follow_up_on": (bench.fit_session.starts_at + timedelta(days=bench.told["follow_up_days"])).date(),
        "follow_up_note": bench.told.get("follow_up_note", ""),
    }
    fit_details.save_next_visit(record=record, changed=visit)
    for loss in bench.told.get("time_losses", []):
        closing.save_time_loss(record=record, finding_key=loss["finding"], minutes=loss["minutes"])
    for line in lines_for(bench.fit_session.bike):
        said = {"state": SafetyState.DONE, "torque_as_printed": PRINTED_TORQUE if line.has_torque else ""}
        closing.save_safety_line(record=record, item=line.key, changed=said, by=bench.fitter)
    close_record(record=record, by=bench.fitter)
    send_waiting_mail.call()

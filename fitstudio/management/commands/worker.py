"""The background worker: runs queued tasks, survives a locked database, and sweeps once a minute."""

import logging
import threading
import time
from argparse import ArgumentParser
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand
from django.db import connections
from django.db.utils import InterfaceError, OperationalError

from fitstudio.upkeep import clear_out, sweep

logger = logging.getLogger(__name__)
SWEEP_EVERY_S = 60
SWEEPS_A_DAY = 24 * 60
RESTART_AFTER_S = 2


class Command(BaseCommand):
    """Run tasks in the main thread, where signals arrive, and the sweep beside it."""

    help = "Run background tasks and send due mail until stopped. Start as many as you like."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Read how often to look for tasks."""
        parser.add_argument(
            "--interval", type=float, default=1, help="Seconds between looks at the queue (%(default)s)."
        )

    def handle(self, *, verbosity: int, interval: float, **options: Any) -> None:
        """Run until a signal ends it."""
        ended = threading.Event()
        sweeper = threading.Thread(target=sweep_until, args=(ended,), name="sweep", daemon=True)
        sweeper.start()
        try:
            run_tasks(verbosity, interval)
        finally:
            ended.set()
            sweeper.join(timeout=5)


def run_tasks(verbosity: int, interval: float) -> None:
    """Run tasks; start again where the database was locked or away for longer than the task runner bears."""
    while True:
        try:
            call_command("db_worker", verbosity=verbosity, interval=interval, reload=False, startup_delay=False)
        except (OperationalError, InterfaceError):
            logger.warning("The database did not answer; looking for tasks again in %s s.", RESTART_AFTER_S)
            connections.close_all()
            time.sleep(RESTART_AFTER_S)
        else:
            return


def sweep_until(ended: threading.Event) -> None:
    """Sweep at the start and then every minute; a sweep that fails is tried again at the next."""
    sweeps = 0
    while True:
        try:
            sweep()
            if sweeps % SWEEPS_A_DAY == 0:
                clear_out()
        except Exception:
            logger.exception("A sweep failed; the next one follows in a minute.")
        finally:
            connections.close_all()
        sweeps += 1
        if ended.wait(SWEEP_EVERY_S):
            return

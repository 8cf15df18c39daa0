"""Run the whole demo studio on this machine with one command."""

import os
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management import CommandError, call_command
from django.core.management.base import BaseCommand

from fitstudio.demo import folder
from fitstudio.demo.addresses import addresses, point_mails_at
from fitstudio.demo.launch import ChildEndedError, Household, StopAskedError
from fitstudio.demo.ports import HOST, USUAL_PORT, free_port_near
from fitstudio.demo.studio import is_empty, is_out_of_date, load_demo_studio

DEMO_SETTINGS = "fitstudio.settings.demo"
SERVER = "The server"
WORKER = "The background worker"


class Command(BaseCommand):
    """Prepare the data, start server and worker, print where to look, and stop everything at the end."""

    help = "Start the demo studio: database, invented people, server, background worker. Stop it with Ctrl-C."
    # The system checks run once, in migrate.
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Read the port and whether to begin anew."""
        parser.add_argument("--port", type=int, default=USUAL_PORT, help="The port to listen on (%(default)s).")
        parser.add_argument(
            "--fresh", action="store_true", help="Forget the demo's data and load it anew around today."
        )
        parser.add_argument("--no-serve", action="store_true", help="Prepare the data and start nothing.")

    def handle(self, *, port: int, fresh: bool, no_serve: bool, **options: Any) -> None:
        """Refuse real settings, then prepare and run."""
        refuse_other_settings()
        if not 1 <= port <= 65535:
            raise CommandError(f"{port} is not a port: choose one from 1024 to 65535.")
        settings.VAR_DIR.mkdir(parents=True, exist_ok=True)
        if fresh:
            self._begin_anew()
        with folder.claim(alone=False):
            if no_serve:
                self._prepare(settings.SITE_URL)
            else:
                self._run(self._choose_port(port))

    def _begin_anew(self) -> None:
        try:
            with folder.claim(alone=True):
                folder.forget()
        except folder.DemoRunsError:
            raise CommandError("The demo is running on this data: stop it before you start with --fresh.") from None

    def _choose_port(self, wanted: int) -> int:
        port = free_port_near(wanted)
        if port != wanted:
            self._say(f"Port {wanted} is taken by another program. Using port {port} instead; --port chooses another.")
        return port

    def _run(self, port: int) -> None:
        site_url = f"http://{HOST}:{port}"
        settings.SITE_URL = site_url
        self._prepare(site_url)
        household = Household(
            folder=settings.BASE_DIR,
            environment={"DJANGO_SETTINGS_MODULE": DEMO_SETTINGS, "SITE_URL": site_url, "PYTHONUNBUFFERED": "1"},
        )
        household.listen_for_stop()
        try:
            household.start(SERVER, server_arguments(port))
            household.start(WORKER, ["manage.py", "worker", "--verbosity", "0"])
            household.wait_until_open(f"{site_url}/accounts/login/")
            self._say(addresses(site_url))
            household.watch()
        except StopAskedError:
            self._say("Stopping ...")
        except (ChildEndedError, TimeoutError) as error:
            raise CommandError(f"{error} The demo has been stopped.") from error
        finally:
            household.stop()
        self._say("Stopped. The data is kept: start again to go on, or with --fresh to begin anew.")

    def _prepare(self, site_url: str) -> None:
        self._say("Preparing the database ...")
        call_command("migrate", interactive=False, verbosity=0)
        if is_empty():
            self._say("Loading the demo studio ...")
            load_demo_studio()
        elif is_out_of_date():
            self._say("The demo's sessions lie in the past by now: start with --fresh to have them around today.")
        point_mails_at(site_url)
        if folder.collect_static_files():
            self._say("Collected the static files.")

    def _say(self, text: str) -> None:
        self.stdout.write(text)
        self.stdout.flush()


def refuse_other_settings() -> None:
    """Refuse to start anywhere but on the demo's own settings, whose database may be filled with invented people."""
    chosen = os.environ.get("DJANGO_SETTINGS_MODULE", "")
    if chosen != DEMO_SETTINGS or not settings.DEMO:
        raise CommandError(
            f"The demo runs only with {DEMO_SETTINGS}, and the settings chosen are {chosen}. "
            "It would fill a real studio with invented people. Unset DJANGO_SETTINGS_MODULE and start it again."
        )


def server_arguments(port: int) -> list[str]:
    """Return how granian is started: as in production, on this machine only."""
    return [
        *("-m", "granian", "--interface", "wsgi", "--host", HOST, "--port", str(port)),
        *("--workers", "2", "--blocking-threads", "1", "--respawn-failed-workers", "--workers-kill-timeout", "5"),
        *("--no-ws", "--log-level", "warning", "fitstudio.wsgi:application"),
    ]

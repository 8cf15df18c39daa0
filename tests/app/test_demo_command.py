"""One command starts the whole demo studio, and stopping it leaves nothing running. Real processes, real port, real pages."""

import http.cookiejar
import os
import re
import signal
import socket
import sqlite3
import subprocess
import sys
import time
import urllib.error
import urllib.parse
import urllib.request
from contextlib import closing, suppress
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from fitstudio.demo.ports import HOST, free_port_near, is_free

ROOT = Path(__file__).parents[2]
PATIENCE_S = 120
pytestmark = pytest.mark.skipif(
    os.name != "posix", reason="The test follows process groups, which only POSIX systems have."
)


class Demo:
    """A running demo in a folder of its own."""

    def __init__(self, folder, *arguments):
        """Start it and gather what it prints."""
        kept = {k: v for k, v in os.environ.items() if k not in {"DJANGO_SETTINGS_MODULE", "DATABASE_URL", "SITE_URL"}}
        self.process = subprocess.Popen(
            [sys.executable, "manage.py", "demo", *arguments],
            cwd=ROOT,
            env={**kept, "FITSTUDIO_VAR": str(folder), "PYTHONUNBUFFERED": "1", "PYTHONUTF8": "1"},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            encoding="utf-8",
            start_new_session=True,
        )
        self.printed = ""
        self.cookies = http.cookiejar.CookieJar()
        self.browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(self.cookies))

    def wait_until_printed(self, words):
        """Read on until some words appear."""
        for line in self.process.stdout:
            self.printed += line
            if words in line:
                return self.printed
        pytest.fail(f"The demo ended without saying “{words}”:\n{self.printed}")

    @property
    def site(self):
        """Return where it says that it is open."""
        return re.search(r"http://127\.0\.0\.1:\d+", self.printed)[0]

    def address_below(self, words):
        """Return the address printed under a line with these words."""
        return re.search(rf"{re.escape(words)}.*\n\s+(\S+)", self.printed)[1]

    def get(self, address):
        """Return status, headers and text of a page."""
        return self._ask(urllib.request.Request(urllib.parse.urljoin(self.site, address)))

    def post(self, address, **fields):
        """Send a form as a browser would."""
        token = next(cookie.value for cookie in self.cookies if cookie.name == "csrftoken")
        data = urllib.parse.urlencode({"csrfmiddlewaretoken": token, **fields}).encode()
        return self._ask(urllib.request.Request(urllib.parse.urljoin(self.site, address), data))

    def _ask(self, request):
        try:
            with self.browser.open(request, timeout=30) as answer:
                return answer.status, answer.headers, answer.read().decode()
        except urllib.error.HTTPError as refused:
            return refused.code, refused.headers, refused.read().decode()

    def end(self, number=signal.SIGINT):
        """Stop it; return its exit code."""
        with suppress(ProcessLookupError):
            self.process.send_signal(number)
        return self.ended()

    def ended(self):
        """Wait until it has ended by itself, with all that it said; return its exit code."""
        if not self.process.stdout.closed:
            self.printed += self.process.communicate(timeout=PATIENCE_S)[0]
        return self.process.returncode


def processes_of(folder):
    """Return the command lines of all running processes that belong to a demo in this folder (Linux only)."""
    mark, found = f"FITSTUDIO_VAR={folder}".encode(), {}
    for entry in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):
            if mark in (entry / "environ").read_bytes().split(b"\0"):
                found[int(entry.name)] = (entry / "cmdline").read_bytes().replace(b"\0", b" ").decode()
    return found


def eventually(check):
    """Wait for something that takes a moment."""
    end = time.monotonic() + PATIENCE_S
    while not (outcome := check()):
        assert time.monotonic() < end, "It did not happen in time."
        time.sleep(0.2)
    return outcome


@pytest.fixture
def start(tmp_path):
    """Return a function that starts the demo in this test's folder; whatever happens, nothing is left behind."""
    started = []

    def start(*arguments):
        started.append(Demo(tmp_path, *arguments))
        return started[-1]

    yield start
    for demo in started:
        demo.end(signal.SIGTERM)
    for number in processes_of(tmp_path):
        with suppress(ProcessLookupError):
            os.kill(number, signal.SIGKILL)


def test_the_demos_life(start, tmp_path):
    """Starts beside a taken port, serves, works in the background, stops; starts again with its data; begins anew when told to."""
    with socket.socket() as other:
        other.bind((HOST, 0))
        other.listen()
        taken = other.getsockname()[1]
        demo = start("--port", str(taken))
        demo.wait_until_printed("--fresh begins anew")
    assert f"Port {taken} is taken" in demo.printed
    look_around(demo)
    link = renew_a_link_by_mail(demo)
    assert demo.end(signal.SIGINT) == 0
    assert "Stopped. The data is kept" in demo.printed
    assert processes_of(tmp_path) == {}

    again = start("--port", str(free_port_near(taken + 1)))
    again.wait_until_printed("--fresh begins anew")
    assert "Loading the demo studio" not in again.printed
    assert again.get(link)[0] == 200
    refused = start("--fresh")
    assert refused.ended() == 1
    assert "The demo is running on this data" in refused.printed
    kill_the_worker(tmp_path)
    assert again.ended() == 1
    assert "background worker ended by itself" in again.printed
    assert processes_of(tmp_path) == {}

    assert number_of_links(tmp_path, link) == 1
    anew = start("--fresh", "--no-serve")
    assert anew.ended() == 0
    assert "Loading the demo studio" in anew.printed
    assert number_of_links(tmp_path, link) == 0
    assert processes_of(tmp_path) == {}


def number_of_links(folder, link):
    """Return how many links of the demo's database have this address."""
    key = link.removeprefix("/r/").partition(".")[0]
    with closing(sqlite3.connect(folder / "demo.sqlite3")) as database:
        return database.execute("SELECT count(*) FROM intake_riderlink WHERE key = ?", [key]).fetchone()[0]


def look_around(demo):
    """Open everything whose address was printed, as a newcomer would."""
    status, _headers, html = demo.get(demo.address_below("public page"))
    assert (status, "Wrenfield Cycle Fitting" in html) == (200, True)
    sheet = re.search(r'href="(/static/css/tokens\.[0-9a-f]+\.css)"', html)[1]
    status, headers, _css = demo.get(sheet)
    assert (status, "immutable" in headers["Cache-Control"]) == (200, True)
    for rider in ("halfway through the check", "after the session"):
        assert demo.get(demo.address_below(rider))[0] == 200
    desk = demo.address_below("The desk")
    user, password = re.search(r"log in as (\S+), password (\S+)", demo.printed).groups()
    assert "Log in" in demo.get(desk)[2]
    status, _headers, html = demo.post("/accounts/login/", username=user, password=password, next="/desk/")
    assert (status, "To decide next" in html) == (200, True)
    assert demo.get(demo.address_below("The owner's records"))[0] == 200
    assert "/r/" in demo.get(demo.address_below("The mails"))[2]


def renew_a_link_by_mail(demo):
    """Have the desk mail a rider a new link; the worker must send it. Return the link."""
    page = demo.get("/desk/clients/1/")[2]
    status, _headers, _html = demo.post(re.search(r'action="(/desk/links/\d+/renew/)"', page)[1], mail="yes")
    assert status == 200

    def sent():
        mails = demo.get("/desk/mail/?state=sent")[2]
        return re.search(r"Your private link at(?:.|\n)*?(/r/[^/]+/)", mails)

    return eventually(sent)[1]


def kill_the_worker(folder):
    """End the background worker without a chance to say goodbye."""
    found = eventually(lambda: [number for number, line in processes_of(folder).items() if "manage.py worker" in line])
    os.kill(found[0], signal.SIGKILL)


@pytest.mark.parametrize("name", ["production", "development"])
def test_it_refuses_any_other_settings(name, tmp_path):
    """A real studio's database is never filled with invented people."""
    given = {
        "SECRET_KEY": "x" * 60,
        "ALLOWED_HOSTS": "fits.wrenfield.example",
        "SITE_URL": "https://fits.wrenfield.example",
    }
    given |= {"DEFAULT_FROM_EMAIL": "studio@wrenfield.example", "FITSTUDIO_VAR": str(tmp_path)}
    chosen = f"fitstudio.settings.{name}"
    run = subprocess.run(
        [sys.executable, "manage.py", "demo"],
        cwd=ROOT,
        env={**os.environ, **given, "DJANGO_SETTINGS_MODULE": chosen},
        capture_output=True,
        text=True,
        timeout=PATIENCE_S,
        check=False,
    )
    assert run.returncode == 1
    assert f"the settings chosen are {chosen}" in run.stderr
    assert list(tmp_path.glob("*.sqlite3")) == []


@pytest.mark.parametrize("port", ["0", "-1", "65536", "eighty"])
def test_a_port_that_is_none_is_said(port, settings, monkeypatch):
    """Before anything is prepared."""
    monkeypatch.setenv("DJANGO_SETTINGS_MODULE", "fitstudio.settings.demo")
    settings.DEMO = True
    with pytest.raises(CommandError, match=r"port"):
        call_command("demo", "--port", port)


def test_a_taken_port_is_recognised():
    """Also where the other program shares it with its own workers."""
    with socket.socket() as other:
        other.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEPORT, 1)
        other.bind((HOST, 0))
        other.listen()
        taken = other.getsockname()[1]
        assert not is_free(taken)
        assert free_port_near(taken) != taken
    assert is_free(taken)

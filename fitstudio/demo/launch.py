"""Start the demo's processes, wait until they answer, and leave none behind."""

import ctypes
import os
import signal
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from types import FrameType

POLL_S = 0.2
PATIENCE_S = 10
LONGEST_START_S = 90
PR_SET_PDEATHSIG = 1  # prctl(2)


class ChildEndedError(Exception):
    """A process that should run on has ended by itself."""

    def __init__(self, name: str, code: int) -> None:
        """Keep which one, and how it ended."""
        super().__init__(f"{name} ended by itself (exit code {code}).")


class StopAskedError(Exception):
    """Ctrl-C or a signal asks for the end."""


class Household:
    """The processes of one demo: started together, stopped together.

    Each child leads a process group of its own, so that Ctrl-C reaches only the demo, which then ends them in order, and
    so that ending a child's group ends its children too.
    """

    def __init__(self, *, folder: Path, environment: Mapping[str, str]) -> None:
        """Keep where and with which environment to start."""
        self.folder, self.environment = folder, {**os.environ, **environment}
        self.children: dict[str, subprocess.Popen[bytes]] = {}
        self.stop_asked = False

    def listen_for_stop(self) -> None:
        """Turn the signals that end a program into a note for the next look."""
        for name in ("SIGINT", "SIGTERM", "SIGHUP"):
            if number := getattr(signal, name, None):
                signal.signal(number, self._note_stop)

    def _note_stop(self, _number: int, _frame: FrameType | None) -> None:
        self.stop_asked = True

    def start(self, name: str, arguments: Sequence[str]) -> None:
        """Start one process of this Python."""
        self.children[name] = subprocess.Popen(  # noqa: S603 - our own programs, no shell
            [sys.executable, *arguments],
            cwd=self.folder,
            env=self.environment,
            stdin=subprocess.DEVNULL,
            start_new_session=True,
            preexec_fn=_end_with_parent if sys.platform == "linux" else None,  # noqa: PLW1509 - no threads run here
        )

    def check(self) -> None:
        """Raise when the end was asked for, or when a child has ended."""
        if self.stop_asked:
            raise StopAskedError
        for name, child in self.children.items():
            if (code := child.poll()) is not None:
                raise ChildEndedError(name, code)

    def wait_until_open(self, address: str) -> None:
        """Return once the address answers; raise if it does not within a long start."""
        end = time.monotonic() + LONGEST_START_S
        while not _answers(address):
            self.check()
            if time.monotonic() > end:
                raise TimeoutError(f"{address} did not answer within {LONGEST_START_S} seconds.")
            time.sleep(POLL_S)

    def watch(self) -> None:
        """Look after the children until the end is asked for or one of them ends."""
        while True:
            self.check()
            time.sleep(POLL_S)

    def stop(self) -> None:
        """End every child and its children: kindly, then firmly."""
        for child in self.children.values():
            _signal_group(child, signal.SIGTERM)
        end = time.monotonic() + PATIENCE_S
        for child in self.children.values():
            with suppress(subprocess.TimeoutExpired):
                child.wait(max(0.1, end - time.monotonic()))
            # A child that has ended may have left children of its own in its group.
            _signal_group(child, getattr(signal, "SIGKILL", signal.SIGTERM))
            child.wait()


def _signal_group(child: "subprocess.Popen[bytes]", number: int) -> None:
    send: Callable[[int, int], None] | None = getattr(os, "killpg", None)
    try:
        if send is None:
            child.terminate()
        else:
            send(child.pid, number)
    except (ProcessLookupError, PermissionError):
        return  # the group has ended already


def _end_with_parent() -> None:
    """Have the kernel end this child should the demo be killed without a chance to do so (Linux)."""
    ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGTERM)


def _answers(address: str) -> bool:
    try:
        with urllib.request.urlopen(address, timeout=5) as answer:  # noqa: S310 - our own http address
            return bool(answer.status == 200)
    except (urllib.error.URLError, OSError):
        return False

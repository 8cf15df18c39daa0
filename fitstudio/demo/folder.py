"""What the demo keeps on disk: its database, its static files, and a note that it is running."""

import hashlib
from contextlib import suppress
from pathlib import Path
from typing import IO

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command
from django.db import connection, connections

try:
    import fcntl
except ImportError:  # not on Windows, where nothing stands in the way of a second demo
    fcntl = None  # type: ignore[assignment]

STAMP = ".collected"


class DemoRunsError(Exception):
    """Another demo runs on the same data."""


def claim(*, alone: bool) -> IO[str]:
    """Note that a demo runs on this data, until the returned file is closed. ``alone`` refuses to share it with another."""
    note = (settings.VAR_DIR / "demo.lock").open("a")
    if fcntl is not None:
        try:
            fcntl.flock(note, (fcntl.LOCK_EX if alone else fcntl.LOCK_SH) | fcntl.LOCK_NB)
        except OSError as error:
            note.close()
            raise DemoRunsError from error
    return note


def forget() -> None:
    """Remove the demo's database, so that the next start begins anew."""
    connections.close_all()
    name = Path(connection.settings_dict["NAME"])
    for ending in ("", "-wal", "-shm"):
        with suppress(FileNotFoundError):
            name.with_name(name.name + ending).unlink()


def collect_static_files() -> bool:
    """Collect and compress the static files where their sources have changed; return whether that was needed."""
    stamp, root = _stamp_of_sources(), Path(settings.STATIC_ROOT)
    with suppress(FileNotFoundError):
        if (root / STAMP).read_text() == stamp:
            return False
    call_command("collectstatic", interactive=False, clear=True, verbosity=0)
    (root / STAMP).write_text(stamp)
    return True


def _stamp_of_sources() -> str:
    digest = hashlib.sha256()
    for finder in get_finders():
        for path, storage in finder.list([]):
            state = Path(storage.path(path)).stat()
            digest.update(f"{path} {state.st_size} {state.st_mtime_ns}\n".encode())
    return digest.hexdigest()

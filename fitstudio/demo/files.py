"""The demo's data as files that can be read and changed."""

import tomllib
from pathlib import Path
from typing import Any

from django.conf import settings


def read(name: str) -> dict[str, Any]:
    """Return one of the demo's files."""
    return tomllib.loads((Path(settings.BASE_DIR) / "fixtures" / "demo" / name).read_text(encoding="utf-8"))

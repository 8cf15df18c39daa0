"""A clock that the demo's loader sets, so that two weeks of a studio's life pass through the product's own code."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime

from django.utils import timezone


@contextmanager
def clock_at(moment: datetime) -> Iterator[None]:
    """Let the product believe that it is this moment; for one process with one thread, such as the demo's loader."""
    real = timezone.now
    timezone.now = lambda: moment
    try:
        yield
    finally:
        timezone.now = real

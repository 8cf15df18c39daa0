"""Tables as comma-separated lines that every spreadsheet reads alike, and that none takes for a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import TypeAlias

Cell: TypeAlias = str | int | float | date | None

BYTE_ORDER_MARK = "\ufeff"
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def csv_lines(header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> Iterator[str]:
    """Yield a table line by line, the header first.

    Notes
    -----
    Lines end in CR LF and cells are quoted where they must be (RFC 4180). The text begins with a byte order mark: without it,
    spreadsheets on Windows read UTF-8 as an older encoding; Python's ``utf-8-sig`` and every spreadsheet take it off. Text that a
    spreadsheet would take for a formula gets an apostrophe before it; numbers stay numbers, also negative ones.

    >>> list(csv_lines(["service"], [["=1+1"], [-2.5]]))
    ['\\ufeffservice\\r\\n', "'=1+1\\r\\n", '-2.5\\r\\n']
    """
    line = io.StringIO(newline="")
    writer = csv.writer(line, lineterminator="\r\n")
    line.write(BYTE_ORDER_MARK)
    for cells in _all(header, rows):
        writer.writerow([_safe(cell) for cell in cells])
        yield line.getvalue()
        line.seek(0)
        line.truncate()


def _all(header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> Iterator[Sequence[Cell]]:
    yield header
    yield from rows


def _safe(cell: Cell) -> str | int | float:
    if cell is None:
        return ""
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, str) and cell.startswith(FORMULA_STARTS):
        return f"'{cell}"
    return cell

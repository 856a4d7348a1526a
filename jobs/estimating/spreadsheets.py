"""A table of past hours out of the file a person has: CSV text, or the first sheet of a workbook.

Workbooks are OpenDocument 1.3 (ODF, ISO/IEC 26300) and Office Open XML (ISO/IEC 29500). Their first sheet becomes
the CSV text that would stand in its place, one line for each row, so that line 7 is row 7 of the sheet and what is
mended on the page is the same table. Values are read, not formulas; days become 2026-03-12, durations become hours.
"""

import csv
import datetime as dt
import io
import warnings
import zipfile
import zlib
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from typing import Any, cast

from odfdo import Cell, Document, Element
from openpyxl import load_workbook

from jobs.estimating.calc.csv_hours import MOST_ROWS
from workshop.web.errors import Refused

MOST_BYTES = 1_000_000  # of a file as it is sent
MOST_UNPACKED = 20_000_000  # of all that a workbook unpacks to: some ten times a full table
MOST_PARTS = 500  # files inside a workbook
MOST_LINES = MOST_ROWS + 200  # rows of a sheet looked at, head and empty ones included
MOST_COLUMNS = 40
ODS_TYPE = b"application/vnd.oasis.opendocument.spreadsheet"
ZIP, OLD_BINARY = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"
KINDS = "Save it as CSV (UTF-8), as an OpenDocument spreadsheet (.ods) or as .xlsx, and bring that in."


def table_text(data: bytes) -> str:
    """Return the table of a file as CSV text, told by what the file holds and not by its name. Raises Refused."""
    if len(data) > MOST_BYTES:
        raise Refused("The file is larger than 1 MB: bring it in in parts.")
    if data.startswith(OLD_BINARY):
        raise Refused(f"The file is an old binary workbook, or locked with a password. {KINDS}")
    if not data.startswith(ZIP):
        try:
            return data.decode("utf-8-sig")
        except UnicodeDecodeError:
            raise Refused(f"The file is neither a workbook nor text in UTF-8. {KINDS}") from None
    kind = _kind_of(data)
    try:
        rows = _kept(_ods_rows(data) if kind == "ods" else _xlsx_rows(data))
    except Refused:
        raise
    except Exception as error:  # whatever a broken file makes the libraries stumble over
        raise Refused(f"The workbook cannot be read: it is damaged or locked. {KINDS}") from error
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(_trimmed(row) for row in rows)
    return out.getvalue()


def _kind_of(data: bytes) -> str:
    """Return "ods" or "xlsx" for a workbook that is safe to unpack. Raises Refused for any other file."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            parts = packed.infolist()
            if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > MOST_UNPACKED:
                raise Refused(
                    "The workbook unpacks to far more than a table of past hours. Copy the table into a new one."
                )
            names = {part.filename for part in parts}
            # Reading a part stops at the size it says, so what was added up above is the most that can come out.
            for part in parts:
                if part.filename.endswith((".xml", ".rels")) and b"<!DOCTYPE" in packed.read(part).replace(b"\0", b""):
                    raise Refused(f"The workbook holds declarations that no table needs. {KINDS}")
            if "mimetype" in names and packed.read("mimetype").startswith(ODS_TYPE):
                return "ods"
    except (zipfile.BadZipFile, RuntimeError, NotImplementedError, EOFError, OSError, zlib.error) as error:
        raise Refused(f"The workbook cannot be read: it is damaged or locked. {KINDS}") from error
    if "xl/workbook.xml" not in names:
        raise Refused(f"The file holds no spreadsheet. {KINDS}")
    return "xlsx"


def _kept(rows: Iterable[tuple[int, list[str]]]) -> list[list[str]]:
    """Return (times, cells) of rows as a list of rows without the empty ones below. Raises Refused for too many."""
    found: list[list[str]] = []
    lines = 0
    for times, cells in rows:
        lines += times
        if not any(cells):
            continue
        if lines > MOST_LINES:
            raise Refused(f"The first sheet has more than {MOST_ROWS} rows: bring them in in parts.")
        found += [[]] * (lines - times - len(found)) + [cells] * times
    return found


def _xlsx_rows(data: bytes) -> Iterator[tuple[int, list[str]]]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of styles and extensions, which a table of hours does not need
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True, keep_links=False)
        try:
            for row in book.worksheets[0].iter_rows(max_col=MOST_COLUMNS, values_only=True):
                yield 1, [_words(value) for value in row]
        finally:
            book.close()


def _ods_rows(data: bytes) -> Iterator[tuple[int, list[str]]]:
    for row in Document(io.BytesIO(data)).body.get_tables()[0].get_elements("descendant::table:table-row"):
        cells: list[str] = []
        for cell in row.get_elements("table:table-cell | table:covered-table-cell"):
            times = min(_repeated(cell, "table:number-columns-repeated"), MOST_COLUMNS - len(cells))
            cells += [_words(cast(Cell, cell).value)] * times
        yield _repeated(row, "table:number-rows-repeated"), cells


def _repeated(element: Element, name: str) -> int:
    times = element.get_attribute(name)
    return int(str(times)) if times else 1


def _words(value: Any) -> str:
    """Return the value of a cell as CSV says it; line breaks become spaces, so that a row stays one line."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dt.datetime):
        return value.date().isoformat()
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, dt.time):
        value = dt.timedelta(hours=value.hour, minutes=value.minute, seconds=value.second)
    if isinstance(value, dt.timedelta):
        value = round(value / dt.timedelta(hours=1), 4)
    if isinstance(value, int | float | Decimal):
        return f"{float(value):.12g}"
    return " ".join(str(value).split())


def _trimmed(row: Sequence[str]) -> Iterable[str]:
    last = max((place for place, cell in enumerate(row) if cell), default=-1)
    return row[: last + 1]

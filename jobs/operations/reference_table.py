"""Reading one table of reference data, and keeping every fault with its place.

A table is a CSV file in UTF-8: comment lines that begin with ``#``, a header row, then rows.
"""

import csv
import math
import re
from collections.abc import Callable, Collection
from dataclasses import dataclass, field
from pathlib import Path

_CODE = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_SHOWN = 40  # characters of a bad value repeated in a sentence


@dataclass(frozen=True)
class Fault:
    """One thing wrong in a reference file; ``line`` counts from 1, ``column`` is the name of the column."""

    file: str
    line: int
    column: str
    sentence: str

    def __str__(self) -> str:
        column = f", column {self.column}" if self.column else ""
        return f"{self.file}, line {self.line}{column}: {self.sentence}"


class ReferenceRefused(ValueError):
    """The reference data has faults; all of them are in ``faults``, and nothing was taken."""

    def __init__(self, faults: Collection[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


@dataclass
class Row:
    """One row of a table: cells by column name, and where its faults are kept."""

    file: str
    line: int
    cells: dict[str, str]
    faults: list[Fault] = field(repr=False)

    def fault(self, column: str, sentence: str) -> None:
        """Keep a fault of this row."""
        self.faults.append(Fault(self.file, self.line, column, sentence))

    def text(self, column: str, *, longest: int = 400) -> str:
        """Return a cell that must not be empty."""
        value = self.optional(column, longest=longest)
        if not value:
            self.fault(column, "is empty. Fill it in.")
        return value

    def optional(self, column: str, *, longest: int = 400) -> str:
        """Return a cell that may be empty."""
        value = self.cells[column].strip()
        if len(value) > longest:
            self.fault(column, f"is {len(value)} characters long; at most {longest} fit. Shorten it.")
        return value

    def code(self, column: str = "code", *, longest: int = 20) -> str:
        """Return a code: small letters, digits and single hyphens."""
        value = self.text(column, longest=longest)
        if value and not _CODE.fullmatch(value):
            self.fault(column, f"“{value[:_SHOWN]}” is no code. Use small letters, digits and single hyphens.")
        return value

    def one_of(self, column: str, allowed: Collection[str]) -> str:
        """Return a cell that must be one of the allowed words."""
        value = self.cells[column].strip()
        if value not in allowed:
            self.fault(column, f"“{value[:_SHOWN]}” is not known here. Use one of: {', '.join(allowed)}.")
        return value

    def words(self, column: str, allowed: Collection[str] = ()) -> tuple[str, ...]:
        """Return the entries of a cell parted by semicolons; each one of ``allowed`` if that is given."""
        found = tuple(part.strip() for part in self.cells[column].split(";") if part.strip())
        for word in found:
            if allowed and word not in allowed:
                self.fault(column, f"“{word[:_SHOWN]}” is not known here. Use: {', '.join(allowed)}.")
        if len(set(found)) < len(found):
            self.fault(column, "names the same entry twice. Keep it once.")
        return found

    def number(self, column: str, *, at_least: float | None = None, above: float | None = None) -> float:
        """Return a cell that must be a number within its bounds; NaN where it is not."""
        value = self.cells[column].strip()
        try:
            number = float(value)
        except ValueError:
            number = math.nan
        if not math.isfinite(number):
            self.fault(column, f"“{value[:_SHOWN]}” is not a number. Write digits with a decimal point.")
            return math.nan
        if at_least is not None and number < at_least:
            self.fault(column, f"{value} is too small: at least {at_least:g}.")
        if above is not None and number <= above:
            self.fault(column, f"{value} is too small: it must be above {above:g}.")
        return number

    def optional_number(self, column: str) -> float | None:
        """Return a cell that may be empty, else a number."""
        return self.number(column) if self.cells[column].strip() else None

    def whole(self, column: str, *, at_least: int = 0) -> int:
        """Return a cell that must be a whole number; ``at_least`` where it is not."""
        number = self.number(column, at_least=at_least)
        if math.isnan(number):
            return at_least
        if number != int(number):
            self.fault(column, f"{number:g} is not a whole number.")
        return int(number)

    def known(self, column: str, codes: Collection[str], what: str) -> str:
        """Return a cell that must name a code of another table."""
        value = self.cells[column].strip()
        if value not in codes:
            self.fault(column, f"“{value[:_SHOWN]}” is no {what} of the reference data. Mend it or add it.")
        return value


def read_table(path: Path, columns: Collection[str], faults: list[Fault]) -> list[Row]:
    """Return the rows of a table; faults of its form are kept in ``faults``.

    A missing or unreadable file, missing or unknown columns and rows with too few or too many cells are
    faults; a row of the wrong width is left out.
    """
    try:
        lines = path.read_text(encoding="utf-8-sig").splitlines()
    except FileNotFoundError:
        faults.append(Fault(path.name, 1, "", "The file is missing."))
        return []
    except UnicodeDecodeError:
        faults.append(Fault(path.name, 1, "", "The file is not UTF-8 text. Save it as UTF-8."))
        return []
    start = next((i for i, line in enumerate(lines) if not line.startswith("#")), len(lines))
    _check_head(path.name, lines[:start], faults)
    reader = csv.reader(lines[start:])
    header = [cell.strip() for cell in next(reader, [])]
    if not _header_holds(path.name, start + 1, header, columns, faults):
        return []
    rows = []
    for cells in reader:
        line = start + reader.line_num
        if len(cells) != len(header):
            sentence = f"has {len(cells)} cells; the header has {len(header)}. Quote cells that hold a comma."
            faults.append(Fault(path.name, line, "", sentence))
            continue
        rows.append(Row(path.name, line, dict(zip(header, cells, strict=True)), faults))
    return rows


def _check_head(name: str, head: list[str], faults: list[Fault]) -> None:
    for word in ("What", "Unit", "Source", "Licence", "Date"):
        if not any(re.match(rf"#\s*{word}:\s*\S", line) for line in head):
            faults.append(Fault(name, 1, "", f"The file must begin with a line “# {word}: …”."))


def _header_holds(name: str, line: int, header: list[str], columns: Collection[str], faults: list[Fault]) -> bool:
    before = len(faults)
    for column in columns:
        if header.count(column) != 1:
            sentence = "The column is missing." if column not in header else "The column is there twice."
            faults.append(Fault(name, line, column, sentence))
    faults.extend(
        Fault(name, line, column, "No such column is known. Take it out.") for column in header if column not in columns
    )
    return len(faults) == before


def unique(rows: list[Row], key: Callable[[Row], tuple[str, ...]], column: str) -> None:
    """Keep a fault for every row whose key was there before."""
    seen: dict[tuple[str, ...], int] = {}
    for row in rows:
        place = seen.setdefault(key(row), row.line)
        if place != row.line:
            row.fault(column, f"“{' / '.join(key(row))}” is there already, on line {place}. Keep one.")

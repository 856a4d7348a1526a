"""Reading a table of past hours that a person brings in: rows that hold, and a sentence for each that does not.

The columns are operation, hours, finished, and if known norm, technician, first time; in any order, with a head line.
Commas or semicolons part the cells. Nothing is guessed: a day is written 2026-03-12.
"""

import csv
import datetime as dt
import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass

COLUMNS = ("operation", "hours", "finished", "norm", "technician", "first time")
NEEDED = COLUMNS[:3]
MOST_ROWS = 5000
MOST_HOURS = 1000.0
_YES, _NO = ("yes", "y", "1", "true"), ("", "no", "n", "0", "false")

Key = tuple[str, str, dt.date, float]


@dataclass(frozen=True)
class CsvHours:
    """One row that holds. ``line`` counts from 1; hours of people; ``technician`` is "" where nobody is named."""

    line: int
    operation: str
    hours: float
    norm: float
    finished: dt.date
    technician: str
    first_time: bool

    @property
    def key(self) -> Key:
        """Return what makes it the same as another: work, person, day, hours."""
        return self.operation, self.technician, self.finished, self.hours


@dataclass(frozen=True)
class Fault:
    """What is wrong with one line."""

    line: int
    sentence: str


@dataclass(frozen=True)
class CsvRead:
    """What was understood of a table: rows to keep, lines to mend, and lines that are here already."""

    rows: tuple[CsvHours, ...]
    faults: tuple[Fault, ...]
    repeated: tuple[CsvHours, ...]


class _Wrong(ValueError):
    pass


def csv_hours_read(
    text: str, *, norms: Mapping[str, float], people: Collection[str], today: dt.date, known: Collection[Key] = ()
) -> CsvRead:
    """Read a table of past hours.

    ``norms``: operation code -> likely hours, used where no norm is written; ``known``: rows kept before. A row like
    one kept before, or like an earlier one of the table, is named as repeated and not read twice.
    """
    lines = text.lstrip("\ufeff").rstrip().splitlines()
    above = next((place for place, line in enumerate(lines) if line.strip(", ;\t")), None)  # empty lines count too
    if above is None:
        return CsvRead((), (Fault(1, "The table is empty."),), ())
    reader = csv.reader(lines[above:], delimiter=";" if lines[above].count(";") > lines[above].count(",") else ",")
    heads = [cell.strip().lower().replace("_", " ") for cell in next(reader)]
    faults = _head_faults(heads, above + 1, sum(bool(line.strip()) for line in lines))
    rows: list[CsvHours] = []
    repeated: list[CsvHours] = []
    seen = set(known)
    for cells in reader if not faults else ():
        if not any(cell.strip() for cell in cells):
            continue
        try:
            row = _row(above + reader.line_num, _under(heads, cells), norms, people, today)
        except _Wrong as wrong:
            faults.append(Fault(above + reader.line_num, str(wrong)))
            continue
        (repeated if row.key in seen else rows).append(row)
        seen.add(row.key)
    return CsvRead(tuple(rows), tuple(faults), tuple(repeated))


def _head_faults(heads: list[str], at: int, lines: int) -> list[Fault]:
    lacking = [name for name in NEEDED if name not in heads]
    if lacking:
        return [Fault(at, f"The head line lacks “{lacking[0]}”. It should name {', '.join(NEEDED)}.")]
    named = [name for name in heads if name]
    unknown = [name for name in named if name not in COLUMNS]
    if unknown:
        return [Fault(at, f"“{unknown[0]}” is no column of this table; there are {', '.join(COLUMNS)}.")]
    if len(set(named)) < len(named):
        return [Fault(at, "A column stands twice in the head line.")]
    if lines > MOST_ROWS + 1:
        return [Fault(at, f"More than {MOST_ROWS} lines: bring them in in parts.")]
    return []


def _under(heads: list[str], cells: list[str]) -> dict[str, str]:
    """Return the cells of a line under their heads. Raises _Wrong for a cell that stands under none."""
    found = {head: cell.strip() for head, cell in zip(heads, cells, strict=False) if head}
    astray = [cell for place, cell in enumerate(cells) if cell.strip() and not (place < len(heads) and heads[place])]
    if astray:
        raise _Wrong(f"“{astray[0].strip()}” stands under no head: name its column, or clear it.")
    return found


def _row(
    line: int, cells: Mapping[str, str], norms: Mapping[str, float], people: Collection[str], today: dt.date
) -> CsvHours:
    code = cells["operation"].lower()
    if code not in norms:
        raise _Wrong(f"“{cells['operation']}” is no operation of the catalogue; write its short name, as in ky-bush.")
    who = cells.get("technician", "")
    found = next((name for name in people if name.lower() == who.lower()), "")
    if who and not found:
        raise _Wrong(f"“{who}” does not work here; leave it empty where the person has left.")
    first = cells.get("first time", "").lower()
    if first not in _YES + _NO:
        raise _Wrong(f"“{first}” under first time is neither yes nor no.")
    return CsvHours(
        line=line,
        operation=code,
        hours=_hours(cells.get("hours", ""), "hours"),
        norm=_hours(cells["norm"], "norm") if cells.get("norm") else norms[code],
        finished=_day(cells.get("finished", ""), today),
        technician=found,
        first_time=first in _YES,
    )


def _hours(text: str, name: str) -> float:
    try:
        hours = float(text.replace(",", "."))
    except ValueError:
        hours = math.nan
    if not 0.01 <= hours <= MOST_HOURS:
        raise _Wrong(f"“{text}” under {name} is no number of hours between 0.01 and {MOST_HOURS:.0f}.")
    return round(hours, 2)


def _day(text: str, today: dt.date) -> dt.date:
    try:
        day = dt.date.fromisoformat(text)
    except ValueError:
        raise _Wrong(f"“{text}” under finished is no day; write it as 2026-03-12.") from None
    if day > today:
        raise _Wrong(f"{text} has not come yet.")
    return day

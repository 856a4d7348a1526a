"""Reading a table of readings that a person uploads: rows that hold, and a sentence for each that does not.

The columns are note or spot, measure, value, unit, remark, in any order. Nothing is guessed: a unit that is not
written is taken only where the measure is read in a single one.
"""

import csv
import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass

from jobs.assessment.calc.values import value_read
from workshop.keyboard.calc.notes import Compass, key_name, key_number

COLUMNS = ("note", "spot", "measure", "value", "unit", "remark")
MOST_ROWS = 5000
_UNREAD = re.compile(r"not measured\s*[,:]?\s*(.*)", re.IGNORECASE | re.DOTALL)
_WHOLE = ("", "whole", "the whole instrument")
_REMARK_LENGTH, _REASON_LENGTH, _SPOT_LENGTH = 200, 120, 40


@dataclass(frozen=True)
class ReadAs:
    """How a measure is read: the names it goes by, its units, its choices and where it is taken."""

    code: str
    name: str
    said_as: tuple[str, ...] = ()
    value_kind: str = "number"
    unit: str = ""
    units_accepted: tuple[str, ...] = ()
    choices: tuple[str, ...] = ()
    spot_kinds: tuple[str, ...] = ("note",)


@dataclass(frozen=True)
class CsvReading:
    """One row that holds, in the unit of its measure. ``line`` counts from 1."""

    line: int
    measure: str
    spot_kind: str
    key: int | None
    spot: str
    value: float | None
    choice: str
    not_measured: str
    remark: str


@dataclass(frozen=True)
class CsvFault:
    """One thing to mend: line from 1, name of the column, and what is wrong and how to mend it."""

    line: int
    column: str
    sentence: str

    def __str__(self) -> str:
        column = f", column {self.column}" if self.column else ""
        return f"Line {self.line}{column}: {self.sentence}"


class _Faulty(ValueError):
    def __init__(self, column: str, sentence: str) -> None:
        self.column = column
        super().__init__(sentence)


def csv_readings(
    text: str, measures: Collection[ReadAs], compass: Compass, panels: Collection[str] = ()
) -> tuple[list[CsvReading], list[CsvFault]]:
    """Return the rows that hold and the faults of those that do not.

    Fields are parted by commas, semicolons or tabs, whichever the header uses; decimal points and commas both
    hold; a byte order mark is dropped. ``panels`` are the names that mean a panel; other spots are sections.
    """
    lines = text.removeprefix("\ufeff").splitlines()
    first = next((i for i, line in enumerate(lines) if line.strip()), None)
    if first is None:
        return [], [CsvFault(1, "", "The file is empty. Begin with a header: note, measure, value, unit, remark.")]
    part = max(",;\t", key=lines[first].count)
    header = [cell.strip().strip('"').casefold() for cell in lines[first].split(part)]
    while len(header) > 1 and not header[-1]:
        header.pop()
    faults = _header_faults(first + 1, header)
    if faults:
        return [], faults
    named = _by_name(measures)
    rows: list[CsvReading] = []
    seen: dict[tuple[str, int | None, str], int] = {}
    reader = csv.reader(lines[first + 1 :], delimiter=part)
    try:
        for cells in reader:
            line = first + 1 + reader.line_num
            if not any(cell.strip() for cell in cells):
                continue
            if len(rows) + len(faults) >= MOST_ROWS:
                faults.append(CsvFault(line, "", f"More than {MOST_ROWS} rows. Split the file."))
                break
            try:
                row = _row(line, _cells(header, cells, part), named, compass, panels)
                _not_twice(row, seen)
                rows.append(row)
            except _Faulty as fault:
                faults.append(CsvFault(line, fault.column, str(fault)))
    except csv.Error:
        faults.append(CsvFault(first + 1 + reader.line_num, "", "The row cannot be read: look for a stray quote."))
    return rows, faults


def _header_faults(line: int, header: list[str]) -> list[CsvFault]:
    faults = [
        CsvFault(line, name, f"“{name[:40]}” is no column known here. Known: {', '.join(COLUMNS)}.")
        for name in header
        if name not in COLUMNS
    ]
    faults += [
        CsvFault(line, name, f"The column “{name}” is there twice. Keep one.")
        for name in COLUMNS
        if header.count(name) > 1
    ]
    faults += [
        CsvFault(line, name, f"The column “{name}” is missing. Add it to the header.")
        for name in ("measure", "value")
        if name not in header
    ]
    if "note" not in header and "spot" not in header:
        faults.append(CsvFault(line, "note", "A column “note” or “spot” is missing: where was it read?"))
    return faults


def _cells(header: list[str], cells: list[str], part: str) -> dict[str, str]:
    if len(cells) > len(header) and any(cell.strip() for cell in cells[len(header) :]):
        hint = " A decimal comma needs quotes, or fields parted by semicolons." if part == "," else ""
        raise _Faulty("", f"The row has {len(cells)} fields, the header {len(header)}.{hint}")
    padded = [*cells, *[""] * len(header)]
    return {name: " ".join(cell.split()) for name, cell in zip(header, padded, strict=False)}


def _row(
    line: int,
    cells: Mapping[str, str],
    named: Mapping[str, list[ReadAs]],
    compass: Compass,
    panels: Collection[str],
) -> CsvReading:
    measure = _measure(cells["measure"], named)
    spot_kind, key, spot = _place(cells, measure, compass, panels)
    value, choice, reason = _value(cells, measure, key)
    remark = cells.get("remark", "")
    if len(remark) > _REMARK_LENGTH:
        raise _Faulty("remark", f"The remark is longer than {_REMARK_LENGTH} characters. Shorten it.")
    return CsvReading(line, measure.code, spot_kind, key, spot, value, choice, reason, remark)


def _by_name(measures: Collection[ReadAs]) -> dict[str, list[ReadAs]]:
    named: dict[str, list[ReadAs]] = {}
    for measure in measures:
        for name in {n.casefold() for n in (measure.code, measure.name, *measure.said_as)}:
            named.setdefault(name, []).append(measure)
    return named


def _measure(text: str, named: Mapping[str, list[ReadAs]]) -> ReadAs:
    if not text:
        raise _Faulty("measure", "No measure is given. Write its name, such as Down weight.")
    found = named.get(text.casefold(), [])
    if not found:
        raise _Faulty("measure", f"“{text[:40]}” is no measure known here. Write the name as in the list of measures.")
    if len(found) > 1:
        names = " or ".join(measure.name for measure in found)
        raise _Faulty("measure", f"“{text[:40]}” can mean {names}. Write the full name.")
    return found[0]


def _place(
    cells: Mapping[str, str], measure: ReadAs, compass: Compass, panels: Collection[str]
) -> tuple[str, int | None, str]:
    note, spot = cells.get("note", ""), cells.get("spot", "")
    if note and spot:
        raise _Faulty("spot", "A reading belongs to a note or to a spot, not to both. Keep one.")
    if note:
        return _fitting("note", "note", measure), _key(note, compass), ""
    if spot.casefold() in _WHOLE:
        return _fitting("whole", "spot" if spot else "note", measure), None, ""
    if len(spot) > _SPOT_LENGTH:
        raise _Faulty("spot", f"The spot is longer than {_SPOT_LENGTH} characters. Write its short name.")
    known = {panel.casefold(): panel for panel in panels}
    kind = "panel" if spot.casefold() in known else "section"
    if kind == "section" and "section" not in measure.spot_kinds and "panel" in measure.spot_kinds:
        raise _Faulty("spot", f"“{spot}” is no panel of this instrument. Write one of: {', '.join(panels)}.")
    return _fitting(kind, "spot", measure), None, known.get(spot.casefold(), spot)


def _fitting(kind: str, column: str, measure: ReadAs) -> str:
    if kind not in measure.spot_kinds:
        places = {"note": "note by note", "section": "by section", "panel": "by panel", "whole": "for the whole"}
        taken = " or ".join(places.get(k, k) for k in measure.spot_kinds) or "nowhere; it is worked out"
        raise _Faulty(column, f"“{measure.name}” is read {taken}. Give the place where it was read.")
    return kind


def _key(note: str, compass: Compass) -> int:
    try:
        key = key_number(note)
    except ValueError as error:
        raise _Faulty("note", str(error)) from error
    if key not in compass:
        raise _Faulty("note", f"{note} lies outside this instrument ({compass.words()}). Look at the note again.")
    return key


def _value(cells: Mapping[str, str], measure: ReadAs, key: int | None) -> tuple[float | None, str, str]:
    text, unit = cells["value"], cells.get("unit", "")
    if not text:
        raise _Faulty("value", "No value is given. Write it, or “not measured: …” with the reason.")
    unread = _UNREAD.fullmatch(text)
    if unread:
        reason = unread.group(1) or cells.get("remark", "")
        if not reason:
            raise _Faulty("value", "Not measured, because …? Write the reason after “not measured:”.")
        if len(reason) > _REASON_LENGTH:
            raise _Faulty("value", f"The reason is longer than {_REASON_LENGTH} characters. Shorten it.")
        return None, "", reason
    if measure.value_kind == "number":
        return _number(text, unit, measure, key), "", ""
    if unit:
        raise _Faulty("unit", f"“{measure.name}” has no unit. Leave the field empty.")
    choice = next((c for c in measure.choices if c.casefold() == text.casefold()), "")
    if not choice:
        raise _Faulty("value", f"“{text[:40]}” is none of the answers: {', '.join(measure.choices)}.")
    return (float(choice), "", "") if measure.value_kind == "grade" else (None, choice, "")


def _number(text: str, unit: str, measure: ReadAs, key: int | None) -> float:
    bare = re.fullmatch(r"[-+−]?[\d.,]+", text)
    if bare and not unit and len(measure.units_accepted) > 1:
        raise _Faulty("unit", f"“{measure.name}” can be given in {', '.join(measure.units_accepted)}. Write which one.")
    if not bare and unit:
        raise _Faulty("value", f"“{text[:40]}” is not a number. Write figures here and the unit in its own field.")
    if unit.isdecimal():
        raise _Faulty(
            "unit",
            f"“{unit[:10]}” is no unit. If it belongs after a decimal comma, put the value in quotes or part the "
            "fields by semicolons.",
        )
    try:
        return float(value_read(text, measure.unit, given_unit=unit, key=key))
    except ValueError as error:
        raise _Faulty("unit" if unit and "does not fit" in str(error) else "value", str(error)) from error


def _not_twice(row: CsvReading, seen: dict[tuple[str, int | None, str], int]) -> None:
    place = seen.setdefault((row.measure, row.key, row.spot.casefold()), row.line)
    if place != row.line:
        where = key_name(row.key) if row.key is not None else row.spot or "the whole instrument"
        column = "note" if row.key is not None else "spot"
        raise _Faulty(column, f"This measure at {where} is on line {place} already. Keep one of the two.")

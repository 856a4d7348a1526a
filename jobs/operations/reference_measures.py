"""Reference data of the assessment: measures, their ranges, what they point to and what they say."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from jobs.operations.reference_table import Fault, Row, read_table, unique
from workshop.keyboard.calc.notes import HIGHEST_KEY, LOWEST_KEY

VALUE_KINDS = ("number", "grade", "yesno", "choice")
SPOT_KINDS = ("note", "section", "panel", "whole")
SEVERITIES = ("safety", "playing", "wear", "looks")
WHENS = ("over", "under", "yes", "any")
_FIELDS = re.compile(r"{([a-z]+)(?: [a-z]+)?}")
_KNOWN_FIELDS = {"where", "count", "value", "range", "low", "high"}

_COLUMNS = {
    "measures.csv": (
        "code", "name", "client_words", "said_as", "area", "value_kind", "unit", "units_accepted", "choices",
        "grade_words", "ordinary_choice", "spot_kinds", "spot_default", "applies_to", "how", "note", "source",
    ),
    "measure_ranges.csv": ("measure", "kind", "era", "low", "high", "at_key", "status", "source"),
    "measure_operations.csv": ("measure", "when", "operation", "source"),
    "measure_sentences.csv": ("measure", "severity", "over", "under", "yes", "meaning", "source"),
}  # fmt: skip


@dataclass(frozen=True)
class MeasureRow:
    """A measure with the sentences its findings say and the operations they point to.

    ``spot_kinds`` is empty for a measure that is worked out from others and never entered.
    ``points_to`` are pairs of (over, under, yes or any; operation code).
    """

    code: str
    name: str
    client_words: str
    said_as: tuple[str, ...]
    area: str
    value_kind: str
    unit: str
    units_accepted: tuple[str, ...]
    choices: tuple[str, ...]
    grade_words: tuple[str, ...]
    ordinary_choice: str
    spot_kinds: tuple[str, ...]
    spot_default: str
    applies_to: str
    how: str
    note: str
    source: str
    severity: str = "playing"
    over: str = ""
    under: str = ""
    yes: str = ""
    meaning: str = ""
    points_to: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class RangeRow:
    """What is ordinary on one kind and era; ``at_key`` is None for a range level along the compass."""

    measure: str
    kind: str
    era: str
    low: float | None
    high: float | None
    at_key: int | None
    status: str
    source: str


def read_measures(
    folder: Path, operations: Mapping[str, str], faults: list[Fault]
) -> tuple[tuple[MeasureRow, ...], tuple[RangeRow, ...]]:
    """Return the measures and their ranges; faults go to ``faults``. ``operations``: code -> applies_to."""
    tables = {name: read_table(folder / name, columns, faults) for name, columns in _COLUMNS.items()}
    rows = tables["measures.csv"]
    unique(rows, lambda row: (row.cells["code"].strip(),), "code")
    codes = {row.cells["code"].strip() for row in rows}
    points = _pointers(tables["measure_operations.csv"], codes, operations)
    sentences = _sentences(tables["measure_sentences.csv"], codes)
    measures = tuple(_measure(row, points, sentences) for row in rows)
    _check_said(rows, measures)
    return measures, _ranges(tables["measure_ranges.csv"], {measure.code: measure for measure in measures})


def _measure(row: Row, points: Mapping[str, tuple[tuple[str, str], ...]], sentences: Mapping[str, Row]) -> MeasureRow:
    code = row.code(longest=24)
    said = sentences.get(code)
    if said is None:
        row.fault("code", f"“{code}” has no line in measure_sentences.csv. Add one.")
    choices = row.words("choices")
    grade_words = row.words("grade_words")
    kind = row.one_of("value_kind", VALUE_KINDS)
    ordinary = row.optional("ordinary_choice", longest=20)
    if ordinary and ordinary not in choices:
        row.fault("ordinary_choice", f"“{ordinary}” is none of the choices.")
    if kind == "grade" and len(grade_words) != len(choices):
        row.fault("grade_words", "A grade needs one word for each of its choices.")
    if kind != "number" and not choices:
        row.fault("choices", "is empty. Name what can be chosen, parted by ;")
    units, unit = row.words("units_accepted"), row.optional("unit", longest=12)
    if unit and unit not in units:
        row.fault("units_accepted", f"must hold the unit itself, {unit}.")
    return MeasureRow(
        code=code,
        name=row.text("name", longest=120),
        client_words=row.text("client_words", longest=200),
        said_as=row.words("said_as"),
        area=row.text("area", longest=24),
        value_kind=kind,
        unit=unit,
        units_accepted=units,
        choices=choices,
        grade_words=tuple(word.split(" ", 1)[-1] for word in grade_words),
        ordinary_choice=ordinary,
        spot_kinds=row.words("spot_kinds", SPOT_KINDS),
        spot_default=row.one_of("spot_default", ("", "ask", *SPOT_KINDS)),
        applies_to=row.one_of("applies_to", ("both", "grand", "upright")),
        how=row.text("how", longest=200),
        note=row.optional("note", longest=300),
        source=row.text("source", longest=200),
        severity=said.cells["severity"].strip() if said else "playing",
        over=said.cells["over"].strip() if said else "",
        under=said.cells["under"].strip() if said else "",
        yes=said.cells["yes"].strip() if said else "",
        meaning=said.cells["meaning"].strip() if said else "",
        points_to=points.get(code, ()),
    )


def _pointers(
    rows: list[Row], measures: set[str], operations: Mapping[str, str]
) -> dict[str, tuple[tuple[str, str], ...]]:
    unique(rows, lambda row: (row.cells["measure"], row.cells["when"], row.cells["operation"]), "operation")
    found: dict[str, tuple[tuple[str, str], ...]] = {}
    for row in rows:
        measure = row.known("measure", measures, "measure")
        pointer = (row.one_of("when", WHENS), row.known("operation", operations, "operation"))
        row.text("source", longest=200)
        found[measure] = (*found.get(measure, ()), pointer)
    return found


def _sentences(rows: list[Row], measures: set[str]) -> dict[str, Row]:
    unique(rows, lambda row: (row.cells["measure"].strip(),), "measure")
    for row in rows:
        row.known("measure", measures, "measure")
        row.one_of("severity", SEVERITIES)
        row.text("meaning", longest=300)
        row.text("source", longest=200)
        for column in ("over", "under", "yes"):
            template = row.optional(column, longest=300)
            strange = set(_FIELDS.findall(template)) - _KNOWN_FIELDS
            if strange or template.count("{") != len(_FIELDS.findall(template)):
                row.fault(
                    column,
                    f"holds a blank that cannot be filled in. Known: {', '.join(sorted(_KNOWN_FIELDS))}.",
                )
            if re.search(r"\[[^|\]]*\]", template) or template.count("[") != template.count("]"):
                row.fault(column, "A choice by count is written [one|many].")
    return {row.cells["measure"].strip(): row for row in rows}


def _check_said(rows: list[Row], measures: tuple[MeasureRow, ...]) -> None:
    seen: dict[str, str] = {}
    for row, measure in zip(rows, measures, strict=True):
        for phrase in measure.said_as:
            other = seen.setdefault(phrase.casefold(), measure.code)
            if other != measure.code:
                row.fault("said_as", f"“{phrase}” already means {other}. One phrase, one measure.")


def _ranges(rows: list[Row], measures: Mapping[str, MeasureRow]) -> tuple[RangeRow, ...]:
    unique(rows, lambda row: tuple(row.cells[c].strip() for c in ("measure", "kind", "era", "at_key")), "measure")
    found = []
    for row in rows:
        code = row.known("measure", measures, "measure")
        low, high = row.optional_number("low"), row.optional_number("high")
        if low is None and high is None:
            row.fault("low", "A range needs a low or a high end. Fill one in or take the line out.")
        if low is not None and high is not None and low > high:
            row.fault("high", f"{high:g} lies below the low end, {low:g}. Put the smaller one first.")
        key = row.whole("at_key", at_least=LOWEST_KEY) if row.cells["at_key"].strip() else None
        if key is not None and key > HIGHEST_KEY:
            row.fault("at_key", f"{key} is no key: {LOWEST_KEY} to {HIGHEST_KEY}.")
        kind = row.one_of("kind", ("grand", "upright"))
        if code in measures and measures[code].applies_to not in ("both", kind):
            row.fault("kind", f"{code} is read on {measures[code].applies_to}s only.")
        status = row.one_of("status", ("verified", "common practice"))
        era = row.one_of("era", ("modern", "old"))
        found.append(RangeRow(code, kind, era, low, high, key, status, row.text("source", longest=200)))
    _check_bends(rows, found)
    return tuple(found)


def _check_bends(rows: list[Row], ranges: list[RangeRow]) -> None:
    level = {(r.measure, r.kind, r.era) for r in ranges if r.at_key is None}
    for row, found in zip(rows, ranges, strict=True):
        if found.at_key is not None and (found.measure, found.kind, found.era) in level:
            row.fault("at_key", "The same range is also given level, without a key. Keep one form.")

"""Reference data: the catalogue of work, parts, measures with their ranges, and wire, read from CSV files.

``read_reference`` reads and checks everything and writes nothing. Each file begins with comment lines that
say what it is, its unit, source, licence and date; each row names its source.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from jobs.operations.calc.catalogue import IN_TURN, TOGETHER, Catalogue, Operation
from jobs.operations.calc.order import find_ring
from jobs.operations.reference_measures import MeasureRow, RangeRow, read_measures
from jobs.operations.reference_table import Fault, ReferenceRefused, Row, read_table, unique

APPLIES_TO = ("both", "grand", "upright")
UNITS = ("instrument", "note", "panel", "section", "place", "pass")
WORK_PLACES = ("bench", "floor", "spray", "home", "road", "office", "outwork")
STAGES = (
    "assessing", "opening", "structure", "case", "strings", "action", "keys", "regulation", "tuning",
    "finish",
)  # fmt: skip

_COLUMNS = {
    "skills.csv": ("code", "name", "covers", "source"),
    "operations.csv": (
        "code", "area", "name", "client_words", "stage", "applies_to", "unit", "usual_grand", "usual_upright",
        "in_passes", "hours_low", "hours_likely", "hours_high", "upright_factor", "skill", "work_place",
        "wait_hours", "wait_reason", "span_days", "cautions", "source",
    ),
    "operation_links.csv": ("from", "to", "kind", "source"),
    "alternatives.csv": ("group", "operation", "source"),
    "parts.csv": ("code", "name", "unit", "lead_days", "price_pence", "kind", "source"),
    "operation_parts.csv": (
        "operation", "part", "quantity", "per", "applies_to", "measure_needed", "source",
    ),
    "wire_sizes.csv": ("diameter_mm", "gauge", "size", "diameter_in", "min_tensile_mpa", "source"),
}  # fmt: skip


@dataclass(frozen=True)
class SkillRow:
    """A skill an operation can ask for."""

    code: str
    name: str
    covers: str
    source: str


@dataclass(frozen=True)
class OperationRow:
    """An operation with its words; the figures are in ``operation``."""

    operation: Operation
    client_words: str
    stage: str
    wait_reason: str
    cautions: str
    source: str


@dataclass(frozen=True)
class PartRow:
    """A part; ``price_pence`` is an invented starting value, ``lead_days`` are calendar days."""

    code: str
    name: str
    unit: str
    lead_days: int
    price_pence: int
    kind: str
    source: str


@dataclass(frozen=True)
class OperationPartRow:
    """What an operation needs: a quantity for the whole operation, or for each unit (``per_unit``)."""

    operation: str
    part: str
    quantity: float
    per_unit: bool
    applies_to: str
    measure_needed: str
    source: str


@dataclass(frozen=True)
class WireRow:
    """A diameter of plain wire; ``size`` means nothing without the name of its ``gauge``."""

    diameter_mm: float
    gauge: str
    size: str
    min_tensile_mpa: int
    source: str


@dataclass(frozen=True)
class Reference:
    """Everything in the folder, checked, in the order of the files."""

    skills: tuple[SkillRow, ...]
    operations: tuple[OperationRow, ...]
    before: Mapping[str, frozenset[str]]
    implies: Mapping[str, tuple[str, ...]]
    alternatives: Mapping[str, tuple[str, ...]]
    parts: tuple[PartRow, ...]
    operation_parts: tuple[OperationPartRow, ...]
    measures: tuple[MeasureRow, ...]
    ranges: tuple[RangeRow, ...]
    wire: tuple[WireRow, ...]

    def catalogue(self) -> Catalogue:
        """Return the operations and their links as the calculations take them."""
        operations = {row.operation.code: row.operation for row in self.operations}
        return Catalogue(operations, self.before, self.implies, self.alternatives)


def read_reference(folder: Path) -> Reference:
    """Return the checked reference data of a folder.

    Raises ReferenceRefused with every fault found: file, line, column and a sentence.
    """
    faults: list[Fault] = []
    tables = {name: read_table(folder / name, columns, faults) for name, columns in _COLUMNS.items()}
    skills = tuple(_skill(row) for row in tables["skills.csv"])
    unique(tables["skills.csv"], _code, "code")
    operations = _operations(tables["operations.csv"], {skill.code for skill in skills})
    kinds = {row.operation.code: row.operation.kind for row in operations}
    before, implies = _links(tables["operation_links.csv"], kinds)
    parts = tuple(_part(row) for row in tables["parts.csv"])
    unique(tables["parts.csv"], _code, "code")
    measures, ranges = read_measures(folder, kinds, faults)
    reference = Reference(
        skills=skills,
        operations=operations,
        before=before,
        implies=implies,
        alternatives=_alternatives(tables["alternatives.csv"], kinds),
        parts=parts,
        operation_parts=_operation_parts(tables["operation_parts.csv"], operations, parts),
        measures=measures,
        ranges=ranges,
        wire=_wire(tables["wire_sizes.csv"]),
    )
    if faults:
        raise ReferenceRefused(sorted(faults, key=lambda fault: (fault.file, fault.line, fault.column)))
    return reference


def _code(row: Row) -> tuple[str, ...]:
    return (row.cells["code"].strip(),)


def _skill(row: Row) -> SkillRow:
    return SkillRow(
        row.code(),
        row.text("name", longest=60),
        row.text("covers", longest=200),
        row.text("source", longest=200),
    )


def _operations(rows: list[Row], skills: set[str]) -> tuple[OperationRow, ...]:
    unique(rows, _code, "code")
    found = []
    for row in rows:
        operation = Operation(
            code=row.code(),
            name=row.text("name", longest=200),
            area=row.text("area", longest=20),
            kind=row.one_of("applies_to", APPLIES_TO),
            unit=row.one_of("unit", UNITS),
            usual_grand=row.number("usual_grand", at_least=0),
            usual_upright=row.number("usual_upright", at_least=0),
            repeats=IN_TURN if row.one_of("in_passes", ("yes", "no")) == "yes" else TOGETHER,
            hours_low=row.number("hours_low", above=0),
            hours_likely=row.number("hours_likely", above=0),
            hours_high=row.number("hours_high", above=0),
            upright_factor=row.number("upright_factor", above=0),
            skill=row.known("skill", skills, "skill"),
            place=row.one_of("work_place", WORK_PLACES),
            wait_hours=row.whole("wait_hours"),
            least_days=row.whole("span_days", at_least=1),
        )
        _check_operation(row, operation)
        found.append(
            OperationRow(
                operation,
                row.text("client_words", longest=300),
                row.one_of("stage", STAGES),
                row.optional("wait_reason", longest=40),
                row.optional("cautions"),
                row.text("source", longest=200),
            )
        )
    return tuple(found)


def _check_operation(row: Row, operation: Operation) -> None:
    if operation.hours_likely < operation.hours_low:
        row.fault("hours_likely", "is less than hours_low. Put low, likely and high in rising order.")
    if operation.hours_high < operation.hours_likely:
        row.fault("hours_high", "is less than hours_likely. Put low, likely and high in rising order.")
    if bool(operation.wait_hours) != bool(row.cells["wait_reason"].strip()):
        row.fault("wait_reason", "A wait needs its reason, such as glue or polish, and a reason its wait.")
    other = {"grand": "usual_upright", "upright": "usual_grand"}.get(operation.kind)
    if other and getattr(operation, other) > 0:
        row.fault(other, f"must be 0: the operation is work on {operation.kind}s only.")


def _links(rows: list[Row], kinds: Mapping[str, str]) -> tuple[dict[str, frozenset[str]], dict[str, tuple[str, ...]]]:
    unique(rows, lambda row: (row.cells["from"], row.cells["to"], row.cells["kind"]), "to")
    before: dict[str, frozenset[str]] = {code: frozenset() for code in kinds}
    implies: dict[str, tuple[str, ...]] = {code: () for code in kinds}
    for row in rows:
        kind = row.one_of("kind", ("before", "implies"))
        first, second = row.known("from", kinds, "operation"), row.known("to", kinds, "operation")
        row.text("source", longest=200)
        if first == second:
            row.fault("to", f"“{second}” is linked to itself. Take the line out.")
        elif first in kinds and second in kinds and kind == "before":
            before[second] |= {first}
        elif first in kinds and second in kinds:
            implies[first] += (second,)
    # operations may imply each other (all strings come off together); only an order must not close
    _check_ring(rows, before)
    return before, implies


def _check_ring(rows: list[Row], before: Mapping[str, frozenset[str]]) -> None:
    ring = find_ring(before)[::-1]
    if not ring:
        return
    pairs = set(zip(ring, ring[1:] + ring[:1], strict=True))
    row = next(r for r in rows if r.cells["kind"] == "before" and (r.cells["from"], r.cells["to"]) in pairs)
    row.fault("to", f"These wait for each other in a ring: {' → '.join([*ring, ring[0]])}. Take a link out.")


def _alternatives(rows: list[Row], kinds: Mapping[str, str]) -> dict[str, tuple[str, ...]]:
    unique(rows, lambda row: (row.cells["group"], row.cells["operation"]), "operation")
    groups: dict[str, tuple[str, ...]] = {}
    for row in rows:
        group = row.text("group", longest=80)
        groups[group] = (*groups.get(group, ()), row.known("operation", kinds, "operation"))
        row.text("source", longest=200)
    for group, codes in groups.items():
        if len(codes) < 2:
            row = next(r for r in rows if r.cells["group"].strip() == group)
            row.fault("group", f"“{group}” has a single operation. Alternatives are at least two.")
    return groups


def _part(row: Row) -> PartRow:
    return PartRow(
        row.code(longest=40),
        row.text("name", longest=120),
        row.text("unit", longest=20),
        row.whole("lead_days"),
        row.whole("price_pence"),
        row.text("kind", longest=40),
        row.text("source", longest=120),
    )


def _operation_parts(
    rows: list[Row], operations: tuple[OperationRow, ...], parts: tuple[PartRow, ...]
) -> tuple[OperationPartRow, ...]:
    unique(rows, lambda row: (row.cells["operation"], row.cells["part"], row.cells["applies_to"]), "part")
    units = {row.operation.code: row.operation.unit for row in operations}
    names = {part.code for part in parts}
    found = []
    for row in rows:
        operation, part = row.known("operation", units, "operation"), row.known("part", names, "part")
        unit = units.get(operation, "instrument")
        per = row.one_of("per", tuple(dict.fromkeys(("instrument", unit))))
        found.append(
            OperationPartRow(
                operation,
                part,
                row.number("quantity", above=0),
                per != "instrument",
                row.one_of("applies_to", APPLIES_TO),
                row.optional("measure_needed", longest=200),
                row.text("source", longest=200),
            )
        )
    return tuple(found)


def _wire(rows: list[Row]) -> tuple[WireRow, ...]:
    unique(rows, lambda row: (row.cells["gauge"], row.cells["size"].strip()), "size")
    found = []
    for row in rows:
        diameter, inch = row.number("diameter_mm", above=0), row.number("diameter_in", above=0)
        if abs(diameter - inch * 25.4) > 0.002:
            row.fault("diameter_mm", f"{diameter:g} mm is not {inch:g} in. Mend one of the two.")
        found.append(
            WireRow(
                diameter,
                row.text("gauge", longest=40),
                row.text("size", longest=8),
                row.whole("min_tensile_mpa", at_least=1),
                row.text("source", longest=200),
            )
        )
    return tuple(found)

"""The measures as the calculations take them: rows of the database, and the words and bends of the reference."""

from functools import lru_cache
from pathlib import Path

from django.conf import settings

from jobs.assessment.calc.csv_readings import ReadAs
from jobs.assessment.calc.findings import Measure as MeasureData
from jobs.assessment.calc.findings import Pointer
from jobs.assessment.calc.ranges import Bend, MeasureRange
from jobs.assessment.models import Measure
from jobs.assessment.models import MeasureRange as RangeRow
from jobs.operations.reference import Reference, read_reference
from jobs.operations.reference_measures import MeasureRow


@lru_cache(maxsize=1)
def reference() -> Reference:
    """Return the reference data that ships with the product, read once a process."""
    return read_reference(Path(settings.BASE_DIR) / "fixtures" / "reference")


def measures_as_data() -> dict[str, MeasureData]:
    """Return all measures by code with their ranges and pointers, in the order of the catalogue.

    Three questions to the database. What the workshop set itself comes from the database; the owner's sentence
    of a yes, the meaning, grade words, bends of a range and when a pointer holds come from the reference.
    """
    known = {row.code: row for row in reference().measures}
    found = {row.code: reference_measure(row, reference()) for row in known.values() if not row.spot_kinds}
    for measure in Measure.objects.prefetch_related("ranges", "points_to"):
        row = known.get(measure.code)
        told = measure.value_kind in (Measure.ValueKind.YES_NO, Measure.ValueKind.CHOICE)
        found[measure.code] = MeasureData(
            code=measure.code,
            name=measure.name,
            client_words=measure.client_words,
            value_kind=measure.value_kind,
            unit=measure.unit,
            choices=tuple(map(str, measure.choices)),
            grade_words=row.grade_words if row else (),
            ordinary_choice=measure.ordinary_choice,
            kind=measure.applies_to,
            severity=measure.severity,
            over="" if told else measure.sentence_over,
            under="" if told else measure.sentence_under,
            yes=measure.sentence_over if told else "",
            meaning=row.meaning if row else "",
            ranges=tuple(range_as_data(r) for r in measure.ranges.all()),
            points_to=_pointers(measure, row),
        )
    return found


def reference_measure(row: MeasureRow, data: Reference) -> MeasureData:
    """Return a measure with the words, ranges and pointers of the reference alone."""
    kinds = {operation.operation.code: operation.operation.kind for operation in data.operations}
    eras = dict.fromkeys((r.kind, r.era) for r in data.ranges if r.measure == row.code)
    return MeasureData(
        code=row.code,
        name=row.name,
        client_words=row.client_words,
        value_kind=row.value_kind,
        unit=row.unit,
        choices=row.choices,
        grade_words=row.grade_words,
        ordinary_choice=row.ordinary_choice,
        kind=row.applies_to,
        severity=row.severity,
        over=row.over,
        under=row.under,
        yes=row.yes,
        meaning=row.meaning,
        ranges=tuple(_reference_range(row.code, kind, era, data) for kind, era in eras),
        points_to=tuple(Pointer(code, when, kinds[code]) for when, code in row.points_to),
    )


def measures_read_as() -> list[ReadAs]:
    """Return how each measure is named and given, for uploaded tables."""
    said = {row.code: row.said_as for row in reference().measures}
    return [
        ReadAs(
            code=measure.code,
            name=measure.name,
            said_as=said.get(measure.code, ()),
            value_kind=measure.value_kind,
            unit=measure.unit,
            units_accepted=tuple(map(str, measure.units_accepted)),
            choices=tuple(map(str, measure.choices)),
            spot_kinds=tuple(map(str, measure.spot_kinds)),
        )
        for measure in Measure.objects.all()
    ]


def range_as_data(row: RangeRow) -> MeasureRange:
    """Return a range row with the bends of the reference, unless the workshop set the range itself."""
    low = None if row.low is None else float(row.low)
    high = None if row.high is None else float(row.high)
    code = row.measure.code
    bends = () if row.edited else _bends(code, row.instrument_kind, row.era)
    return MeasureRange(row.instrument_kind, row.era, low, high, bends, row.edited, row.source)


def _reference_range(code: str, kind: str, era: str, data: Reference) -> MeasureRange:
    rows = [r for r in data.ranges if (r.measure, r.kind, r.era) == (code, kind, era)]
    low = min((r.low for r in rows if r.low is not None), default=None)
    high = max((r.high for r in rows if r.high is not None), default=None)
    bends = tuple(Bend(r.at_key, r.low, r.high) for r in rows if r.at_key is not None)
    return MeasureRange(kind, era, low, high, bends, False, rows[0].source)


def _bends(code: str, kind: str, era: str) -> tuple[Bend, ...]:
    return tuple(
        Bend(row.at_key, row.low, row.high)
        for row in reference().ranges
        if (row.measure, row.kind, row.era) == (code, kind, era) and row.at_key is not None
    )


def _pointers(measure: Measure, row: MeasureRow | None) -> tuple[Pointer, ...]:
    kinds = {operation.code: operation.applies_to for operation in measure.points_to.all()}
    pointers = tuple(Pointer(code, when, kinds[code]) for when, code in (row.points_to if row else ()) if code in kinds)
    told = {pointer.operation for pointer in pointers}
    return pointers + tuple(Pointer(code, "any", kind) for code, kind in kinds.items() if code not in told)

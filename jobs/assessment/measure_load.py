"""Loading measures, their ranges and what they point to from the reference data."""

from typing import Any

from django.db import transaction

from jobs.assessment.models import Measure, MeasureRange
from jobs.operations.models import Operation
from jobs.operations.reference import Reference
from jobs.operations.reference_measures import MeasureRow, RangeRow
from jobs.operations.services import LoadCount, decimal, row_write


@transaction.atomic
def measures_load(*, reference: Reference) -> LoadCount:
    """Write measures, ranges and pointers; all of it or nothing.

    Loading twice changes nothing, and a range the workshop set itself is kept. A range that bends along the
    compass is stored with its outermost ends. Raises ValidationError when a row does not fit the database.
    """
    count = LoadCount()
    operations = {operation.code: operation for operation in Operation.objects.all()}
    measures = {}
    for place, row in enumerate(reference.measures):
        if not row.spot_kinds:  # worked out from other readings, never entered
            continue
        measure = row_write(Measure, {"code": row.code}, _values(row, place), count)
        measure.points_to.set([operations[code] for code in dict.fromkeys(code for _, code in row.points_to)])
        measures[row.code] = measure
    grouped: dict[tuple[str, str, str], list[RangeRow]] = {}
    for found in reference.ranges:
        if found.measure in measures:
            grouped.setdefault((found.measure, found.kind, found.era), []).append(found)
    for (code, kind, era), rows in grouped.items():
        key = {"measure": measures[code], "instrument_kind": kind, "era": era}
        row_write(MeasureRange, key, _range_values(rows), count)
    return count


def _values(row: MeasureRow, place: int) -> dict[str, Any]:
    told = row.value_kind in (Measure.ValueKind.YES_NO, Measure.ValueKind.CHOICE)
    return {
        "position": place,
        "area": row.area,
        "name": row.name,
        "client_words": row.client_words,
        "unit": row.unit,
        "units_accepted": list(row.units_accepted),
        "value_kind": row.value_kind,
        "choices": list(row.choices),
        "ordinary_choice": row.ordinary_choice,
        "spot_kinds": list(row.spot_kinds),
        "applies_to": row.applies_to,
        "severity": row.severity,
        "sentence_over": row.yes if told else row.over,
        "sentence_under": row.under,
        "how": row.how,
        "note": row.note,
    }


def _range_values(rows: list[RangeRow]) -> dict[str, Any]:
    lows = [row.low for row in rows if row.low is not None]
    highs = [row.high for row in rows if row.high is not None]
    return {
        "low": decimal(min(lows)) if lows else None,
        "high": decimal(max(highs)) if highs else None,
        "status": rows[0].status,
        "source": rows[0].source,
    }

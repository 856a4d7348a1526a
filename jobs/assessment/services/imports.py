"""Bringing in a table of readings: all of it, or nothing."""

import datetime as dt
from decimal import Decimal

from django.db import transaction

from jobs.assessment.calc.csv_readings import CsvReading
from jobs.assessment.models import Assessment, Measure, Reading
from jobs.assessment.queries.records import csv_read
from jobs.assessment.services.assessments import open_assessment
from jobs.assessment.services.readings import KEPT_FIELDS
from workshop.people.models import Person
from workshop.web.errors import Refused

FAULTS_TOLD = 5


@transaction.atomic
def readings_import(*, assessment: Assessment, text: str, by: Person, at: dt.datetime) -> int:
    """Keep every reading of a CSV, each over the one that stands at its spot; returns how many.

    Raises Refused, naming the first bad lines, when a row does not hold, and then keeps none.
    """
    held = open_assessment(assessment)
    rows, faults = csv_read(held.instrument, text)
    if faults:
        more = f" And {len(faults) - FAULTS_TOLD} more." if len(faults) > FAULTS_TOLD else ""
        raise Refused(f"Nothing was kept. {' '.join(str(fault) for fault in faults[:FAULTS_TOLD])}{more}")
    if not rows:
        raise Refused("There is no reading in this table, only its head. Add a line for each reading.")
    measures = {each.code: each for each in Measure.objects.filter(code__in={row.measure for row in rows})}
    standing = {(r.measure_id, r.spot_kind, r.key, r.spot): r.pk for r in held.readings.all()}
    made = [_reading(row, held, measures[row.measure], by, at) for row in rows]
    for reading in made:
        reading.pk = standing.get((reading.measure_id, reading.spot_kind, reading.key, reading.spot))
    Reading.objects.bulk_update([r for r in made if r.pk], KEPT_FIELDS)
    Reading.objects.bulk_create([r for r in made if not r.pk])
    return len(made)


def _reading(row: CsvReading, assessment: Assessment, measure: Measure, by: Person, at: dt.datetime) -> Reading:
    is_grade = measure.value_kind == Measure.ValueKind.GRADE
    grade = str(int(row.value)) if is_grade and row.value is not None else ""
    return Reading(
        assessment=assessment,
        measure=measure,
        spot_kind=row.spot_kind,
        key=row.key,
        spot=row.spot,
        value=None if row.value is None or is_grade else Decimal(str(row.value)),
        choice=grade or row.choice,
        not_measured_because=row.not_measured,
        remark=row.remark,
        by=by,
        at=at,
    )

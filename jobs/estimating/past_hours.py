"""Past hours brought in from a table: looked at first, kept all together or not at all, taken back in one go."""

import datetime as dt
from decimal import Decimal

from django.db import transaction

from jobs.estimating.calc.csv_hours import CsvRead, csv_hours_read
from jobs.estimating.calc.task_hours import task_hours_from_norm
from jobs.estimating.models import HoursImport, HoursLog
from jobs.operations.models import Operation
from workshop.people.models import Person
from workshop.web.errors import Refused


def past_hours_read(text: str, today: dt.date) -> CsvRead:
    """Return what is understood of a table; rows that are here already are named, whoever logged them."""
    logs = HoursLog.objects.values_list("operation__code", "technician__first_name", "finished_on", "hours")
    return csv_hours_read(
        text,
        norms={code: float(hours) for code, hours in Operation.objects.values_list("code", "hours_likely")},
        people=list(Person.objects.exclude(first_name="").values_list("first_name", flat=True)),
        today=today,
        known={(code, who or "", day, float(hours)) for code, who, day, hours in logs},
    )


@transaction.atomic
def past_hours_keep(*, text: str, by: Person, at: dt.datetime, today: dt.date) -> HoursImport:
    """Keep every row of a table that has no fault. Raises Refused for a fault, or when nothing is new."""
    if not by.is_manager:
        raise Refused("Past hours are brought in by the manager.")
    read = past_hours_read(text, today)
    if read.faults:
        raise Refused(f"Line {read.faults[0].line}: {read.faults[0].sentence} Nothing was kept.")
    if not read.rows:
        raise Refused("Every line of the table is here already: nothing was kept.")
    operations = {row.code: row for row in Operation.objects.all()}
    people = {row.first_name: row for row in Person.objects.exclude(first_name="")}
    batch = HoursImport.objects.create(at=at, by=by, rows=len(read.rows))
    fresh = []
    for row in read.rows:
        operation, said = operations[row.operation], task_hours_from_norm(row.norm)
        fresh.append(
            HoursLog(
                operation=operation,
                technician=people.get(row.technician),
                norm_hours=_hundredths(row.norm),
                norm_of_unit=operation.hours_likely,
                hours=_hundredths(row.hours),
                said_likely=_hundredths(said.likely),
                said_80=_hundredths(said.figure_80),
                finished_on=row.finished,
                first_time=row.first_time,
                source=HoursLog.Source.IMPORT,
                brought_in=batch,
                changed_at=at,
            )
        )
    HoursLog.objects.bulk_create(fresh)
    return batch


@transaction.atomic
def past_hours_take_back(*, batch: HoursImport, by: Person, at: dt.datetime) -> HoursImport:
    """Take back all that one table brought in. Raises Refused when that was done before."""
    row = HoursImport.objects.select_for_update().get(pk=batch.pk)
    if not by.is_manager:
        raise Refused("Past hours are taken back by the manager.")
    if row.taken_back_at is not None:
        raise Refused("These hours were taken back before.")
    row.logs.all().delete()
    row.taken_back_at, row.taken_back_by = at, by
    row.save(update_fields=["taken_back_at", "taken_back_by"])
    return row


def _hundredths(hours: float) -> Decimal:
    return Decimal(str(hours)).quantize(Decimal("0.01"))

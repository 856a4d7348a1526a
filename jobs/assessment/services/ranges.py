"""The workshop's own ranges."""

from decimal import Decimal

from django.db import transaction

from jobs.assessment.models import MeasureRange
from workshop.people.models import Person
from workshop.web.rows import row_check


@transaction.atomic
def range_change(*, row: MeasureRange, low: Decimal | None, high: Decimal | None, why: str, by: Person) -> MeasureRange:
    """Set what is ordinary here; a reload of the reference data leaves it alone. Raises Refused for a bad range."""
    row = MeasureRange.objects.select_for_update().get(pk=row.pk)
    row.low, row.high = low, high
    row.status = "the workshop's own"
    row.source = f"{by}: {why.strip()}"[:200]
    row.edited = True
    row_check(row)
    row.save()
    return row

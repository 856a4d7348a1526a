"""The workshop's own ranges."""

from decimal import Decimal

from django.db import transaction

from jobs.assessment.models import MeasureRange
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check


@transaction.atomic
def range_change(*, row: MeasureRange, low: Decimal | None, high: Decimal | None, why: str, by: Person) -> MeasureRange:
    """Set what is ordinary here; a reload of the reference data leaves it alone.

    Raises Refused for limits the wrong way round or none, no word on where they come from, or a person who is
    not a manager.
    """
    if not by.is_manager:
        raise Refused("What is ordinary here is set by the manager. Tell them what you see.")
    if low is None and high is None:
        raise Refused("A range needs a lower limit, an upper limit or both.")
    if low is not None and high is not None and low > high:
        raise Refused(f"The upper limit, {high:f}, lies below the lower one, {low:f}: change one of the two.")
    if not why.strip():
        raise Refused("Say where the range comes from: somebody will ask.")
    row = MeasureRange.objects.select_for_update().get(pk=row.pk)
    row.low, row.high = low, high
    row.status = "the workshop’s own"
    row.source = f"{by}: {why.strip()}"[:200]
    row.edited = True
    row_check(row)
    row.save()
    return row

"""Changing a norm: the workshop's own hours for a piece of work."""

import datetime as dt
from decimal import Decimal

from django.db import transaction

from jobs.operations.models import NormVersion, Operation
from jobs.operations.queries import catalogue_forget
from workshop.calendar.words import day_words_year
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check

SOURCE_LENGTH = 200


@transaction.atomic
def norm_change(
    *,
    operation: Operation,
    hours_low: Decimal,
    hours_likely: Decimal,
    hours_high: Decimal,
    by: Person,
    reason: str,
    on: dt.date,
) -> Operation:
    """Change the hours of one unit of an operation (person-hours of attended work) and keep who, when and why.

    The row is marked as edited, so that a reload of the reference data leaves it alone. Quotes that were sent
    keep the hours they were sent with. Raises Refused for hours that do not run from low over likely to high,
    a missing reason, a person who is not a manager, or a change that changes nothing.
    """
    row = Operation.objects.select_for_update().get(pk=operation.pk)
    reason = reason.strip()
    if not by.is_manager:
        raise Refused("Norms are changed by the manager. Tell them what the work really takes.")
    if not reason:
        raise Refused(f"Write down why the norm of “{row.name}” changes: somebody will ask.")
    if not 0 < hours_low <= hours_likely <= hours_high:
        raise Refused(
            f"The hours of “{row.name}” must run from low over likely to high, all above nought; "
            f"{hours_low}, {hours_likely}, {hours_high} do not."
        )
    was = (row.hours_low, row.hours_likely, row.hours_high)
    if (hours_low, hours_likely, hours_high) == was:
        raise Refused(f"“{row.name}” already has these hours: nothing was changed.")
    row.hours_low, row.hours_likely, row.hours_high = hours_low, hours_likely, hours_high
    row.edited = True
    row.source = _line(by, on, reason, was, row.source)
    row_check(row)
    row.save(update_fields=["hours_low", "hours_likely", "hours_high", "edited", "source"])
    NormVersion.objects.create(
        operation=row,
        low_before=was[0],
        likely_before=was[1],
        high_before=was[2],
        low_after=hours_low,
        likely_after=hours_likely,
        high_after=hours_high,
        reason=reason[:SOURCE_LENGTH],
        by=by,
        on=on,
    )
    catalogue_forget()
    return row


def _line(by: Person, on: dt.date, reason: str, was: tuple[Decimal, ...], source: str) -> str:
    old = " / ".join(f"{hours.normalize():f}" for hours in was)
    line = f"{by}, {day_words_year(on)}: {reason.rstrip('.')}. Before: {old} h. {source}"
    return line if len(line) <= SOURCE_LENGTH else line[: SOURCE_LENGTH - 1].rstrip() + "…"

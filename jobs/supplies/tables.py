"""The list of needs, for the export and for what is on its way."""

from typing import Any

from jobs.supplies.models import Need
from jobs.supplies.queries import NeedRow
from parts.catalogue.tables import QuantityColumn
from workshop.web.tables import DayColumn, ListColumn, ListTable, StateColumn


def need_look(row: Any) -> tuple[str, ...]:
    """Return mark and word of a need, given as a row of the buyer or as the need itself."""
    need: Need = row.need if isinstance(row, NeedRow) else row
    if need.state == Need.State.HERE:
        return ("hamin", "from the shelf" if need.from_shelf else "here")
    if need.state == Need.State.ORDERED:
        return ("ham", "on its way")
    if need.state == Need.State.NOT_NEEDED:
        return ("struck", "not needed")
    if need.order_line_id is not None:
        return ("pencil", "on a draft")
    if need.part.measure_needed and not need.measure:
        return ("pin", "measure to be taken")
    return ("hole", "to order")


class NeedTable(ListTable):
    """Needs as rows, for a spreadsheet."""

    what = "What jobs need"
    file_name = "needs"

    part = ListColumn(accessor="need__part")
    quantity = QuantityColumn(accessor="need__quantity")
    unit = ListColumn(accessor="need__part__unit", verbose_name="Counted by")
    measure = ListColumn(accessor="need__measure")
    instrument = ListColumn(accessor="need__task__job__instrument", verbose_name="For")
    task = ListColumn(accessor="need__task")
    supplier = ListColumn(accessor="need__part__supplier")
    needed_on = DayColumn(verbose_name="Needed on")
    last_safe = DayColumn(accessor="slip__last_safe_day", verbose_name="Last safe day")
    expected_on = DayColumn(accessor="need__order_line__expected_on", verbose_name="Expected")
    state = StateColumn(look=need_look)

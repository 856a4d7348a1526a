"""The manager's list of hours."""

from typing import Any

from django.urls import reverse

from jobs.hours.list_queries import ASSESSMENT, TASK
from jobs.intake.models import Instrument
from workshop.calendar.words import minutes_words
from workshop.web.tables import DayColumn, ListColumn, ListTable, NumberColumn, StateColumn

Row = dict[str, Any]


def _state(row: Row) -> tuple[str, str]:
    if row["gone"]:
        return "struck", "withdrawn" if row["source"] == TASK else "taken back"
    if row["was"] is None:
        return "full", "as logged"
    return "pencil", f"corrected, was {minutes_words(row['was'])}"


def _page(row: Row) -> str:
    """Return the page on which a row is mended."""
    if row["source"] == TASK:
        return reverse("bench-correct", args=[row["key"]])
    return reverse("assessment-hours" if row["source"] == ASSESSMENT else "job-visits", args=[row["about"]])


class EntryTable(ListTable):
    """Hours on tasks and of the house, newest day first; the rows are those of ``list_queries.hours_rows``."""

    what = "Hours"
    file_name = "hours"
    nothing = "No hours are logged here. Take a filter away, or log some at the bench."
    row_head = "task"
    order_words = {"on": ("oldest first", "newest first")}

    on = DayColumn(verbose_name="Day", order_by=("on", "source", "key"))
    person = ListColumn(accessor="who", order_by=("who", "source", "key"))
    instrument = ListColumn(accessor="number", order_by=("number", "source", "key"))
    task = ListColumn(accessor="work", order_by=("work", "source", "key"), linkify=lambda record: _page(record))
    minutes = NumberColumn(verbose_name="Time", order_by=("minutes", "source", "key"))
    note = ListColumn(wide=True, orderable=False)
    state = StateColumn(look=_state, orderable=False)
    correction_reason = ListColumn(accessor="reason", verbose_name="Why corrected, by whom", wide=True, orderable=False)

    class Meta(ListTable.Meta):
        order_by = ("-on",)

    def render_instrument(self, record: Row) -> str:
        """Return the instrument as everywhere."""
        return str(Instrument(number=record["number"], maker=record["maker"], kind=record["kind"]))

    def render_minutes(self, value: Any) -> str:
        """Return the time in hours and minutes."""
        return minutes_words(value)

    def value_minutes(self, value: Any, record: Row) -> int:
        """Return the minutes that stand, for the export."""
        return 0 if record["gone"] else int(value)

    def render_correction_reason(self, value: Any, record: Row) -> str:
        """Return why, and by whom."""
        return f"{value} ({record['mended_by']})" if value else ""

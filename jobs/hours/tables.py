"""The manager's list of hours."""

from typing import Any

import django_tables2 as tables

from jobs.hours.models import TimeEntry
from workshop.calendar.words import minutes_words
from workshop.web.tables import DayColumn, ListColumn, ListTable, NumberColumn, StateColumn


def _state(entry: TimeEntry) -> tuple[str, str]:
    if entry.withdrawn:
        return "struck", "withdrawn"
    if entry.replaces is None:
        return "full", "as logged"
    return "pencil", f"corrected, was {minutes_words(entry.replaces.minutes or 0)}"


class EntryTable(ListTable):
    """Hours, newest day first."""

    what = "Hours"
    file_name = "hours"
    nothing = "No hours are logged here. Take a filter away, or log some at the bench."
    row_head = "task"
    order_words = {"on": ("oldest first", "newest first")}

    on = DayColumn(verbose_name="Day")
    person = ListColumn(order_by=("person__first_name", "person__username"))
    instrument = ListColumn(accessor="task__job__instrument", order_by=("task__job__instrument__number",))
    task = ListColumn(order_by=("task__name",), linkify=("bench-correct", {"pk": tables.A("pk")}))
    minutes = NumberColumn(verbose_name="Time")
    note = ListColumn(wide=True, orderable=False)
    state = StateColumn(look=_state, orderable=False)
    correction_reason = ListColumn(verbose_name="Why corrected, by whom", wide=True, orderable=False)

    class Meta(ListTable.Meta):
        model = TimeEntry
        fields = ("on", "person", "instrument", "task", "minutes", "note", "state", "correction_reason")
        order_by = ("-on",)

    def render_minutes(self, value: Any) -> str:
        """Return the time in hours and minutes."""
        return minutes_words(value)

    def value_minutes(self, value: Any, record: TimeEntry) -> int:
        """Return the minutes that stand, for the export."""
        return 0 if record.withdrawn else int(value)

    def render_correction_reason(self, value: Any, record: TimeEntry) -> str:
        """Return why, and by whom."""
        return f"{value} ({record.corrected_by})" if value else ""

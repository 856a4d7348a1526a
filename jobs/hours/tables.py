"""The manager's list of hours."""

from typing import Any

from jobs.hours.models import TimeEntry
from workshop.calendar.words import minutes_words
from workshop.web.tables import DayColumn, ListColumn, ListTable, NumberColumn, StateColumn


class EntryTable(ListTable):
    """Hours, newest day first."""

    what = "Hours"
    file_name = "hours"
    nothing = "No hours are logged yet."
    row_head = "task"
    order_words = {"on": ("oldest first", "newest first")}

    on = DayColumn(verbose_name="Day")
    person = ListColumn(order_by=("person__first_name",))
    instrument = ListColumn(accessor="task__job__instrument", order_by=("task__job__instrument__number",))
    task = ListColumn(orderable=False)
    minutes = NumberColumn(verbose_name="Time")
    note = ListColumn(wide=True, orderable=False)
    state = StateColumn(
        look=lambda record: ("pencil", "corrected") if record.replaces_id else ("full", "as logged"),
        orderable=False,
        wide=True,
    )

    class Meta(ListTable.Meta):
        model = TimeEntry
        fields = ("on", "person", "instrument", "task", "minutes", "note", "state")
        order_by = ("-on",)

    def render_minutes(self, value: Any) -> str:
        """Return the time in hours and minutes."""
        return minutes_words(value)

    def value_minutes(self, value: Any) -> int:
        """Return the minutes, for the export."""
        return int(value)

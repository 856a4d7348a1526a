"""The list of instruments: where each stands."""

from typing import Any

from django.urls import reverse

from jobs.intake.models import Instrument
from jobs.worklist.models import Job
from workshop.web.tables import DayColumn, ListColumn, ListTable, NumberColumn, StateColumn

JOB_LOOKS = {
    Job.State.ACCEPTED: ("full", "accepted"),
    Job.State.IN_HOUSE: ("half", "at work"),
    Job.State.READY: ("pin", "ready, to be fetched"),
    Job.State.RETURNED: ("full", "home again"),
    Job.State.STOPPED: ("struck", "stopped"),
}
QUOTE_LOOKS = {
    "draft": ("pencil", "quote in draft"),
    "sent": ("gone", "quote sent"),
    "declined": ("struck", "declined"),
    "lapsed": ("struck", "quote lapsed"),
}


def standing(record: Any) -> tuple[str, str]:
    """Return mark and word of where an instrument stands."""
    if (
        record.job_state == Job.State.IN_HOUSE
        and record.promised
        and record.planned
        and record.planned > record.promised
    ):
        return "wedge", "late"
    if record.job_state:
        return JOB_LOOKS[record.job_state]
    return QUOTE_LOOKS.get(record.quote_state, ("hole", "asked about"))


class InstrumentTable(ListTable):
    """Instruments, newest number first."""

    what = "Instruments"
    row_name = "title"
    file_name = "instruments"
    nothing = "No instrument yet. The first enquiry brings one."
    order_words = {"number": ("oldest first", "newest first")}

    number = ListColumn(verbose_name="No.", linkify=lambda record: reverse("desk-instrument", args=[record.number]))
    title = ListColumn(verbose_name="Instrument", accessor="words", order_by=("maker", "year"))
    client = ListColumn(order_by=("client__name",))
    keys = NumberColumn(verbose_name="Keys", empty_values=(), orderable=False, wide=True)
    finish = ListColumn(wide=True)
    promised = DayColumn(verbose_name="Promised")
    planned = DayColumn(verbose_name="Planned")
    state = StateColumn(look=standing, orderable=False)

    class Meta(ListTable.Meta):
        model = Instrument
        fields = ("number", "title", "client", "keys", "finish", "promised", "planned", "state")
        order_by = ("-number",)

    def render_keys(self, record: Any) -> int:
        """Return how many keys it has."""
        return len(record.compass)

    def value_keys(self, record: Any) -> int:
        """Return how many keys it has, for the export."""
        return len(record.compass)

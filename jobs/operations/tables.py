"""The list of norms."""

from django.urls import reverse

from jobs.operations.models import Operation
from workshop.web.tables import HoursColumn, ListColumn, ListTable, NumberColumn, StateColumn


class NormTable(ListTable):
    """Operations in the order of the catalogue."""

    what = "Norms"
    note = "hours of people for one unit, on a grand"
    file_name = "norms"
    nothing = "The catalogue is empty: load the reference data."
    row_head = "name"

    area = ListColumn()
    name = ListColumn(
        verbose_name="Operation",
        order_by=("position",),
        linkify=lambda record: reverse("norm-show", args=[record.code]),
    )
    unit = ListColumn(wide=True)
    hours_low = HoursColumn(verbose_name="Low", wide=True, places=2)
    hours_likely = HoursColumn(verbose_name="Likely", places=2)
    hours_high = HoursColumn(verbose_name="High", wide=True, places=2)
    skill = ListColumn(order_by=("skill__position",))
    work_place = ListColumn(verbose_name="Where", wide=True)
    wait_hours = NumberColumn(verbose_name="Rests, h", wide=True)
    state = StateColumn(
        look=lambda record: ("pencil", "your own") if record.edited else ("full", "as delivered"), orderable=False
    )

    class Meta(ListTable.Meta):
        model = Operation
        fields = (
            "area",
            "name",
            "unit",
            "hours_low",
            "hours_likely",
            "hours_high",
            "skill",
            "work_place",
            "wait_hours",
            "state",
        )
        order_by = ("name",)

"""The list of wire sizes."""

from decimal import Decimal
from typing import Any

from workshop.web.tables import ListColumn, ListTable, NumberColumn


class WireTable(ListTable):
    """Wire by diameter."""

    what = "Wire sizes"
    row_name = "size"
    note = "loads of new, clean wire"
    file_name = "wire-sizes"
    nothing = "No wire yet: load the reference data, or add the sizes your supplier sells."
    row_head = "diameter_mm"
    order_words = {"diameter_mm": ("thinnest first", "thickest first")}

    diameter_mm = NumberColumn(verbose_name="Diameter, mm")
    size = ListColumn(verbose_name="Size", orderable=False)
    gauge = ListColumn(verbose_name="of the gauge", orderable=False)
    min_tensile_mpa = NumberColumn(verbose_name="Least strength, MPa")
    breaking_n = NumberColumn(verbose_name="Breaks at, N")
    work_up_to_n = NumberColumn(verbose_name="Warned above, N")

    class Meta(ListTable.Meta):
        order_by = ("diameter_mm",)

    def render_diameter_mm(self, value: Decimal) -> str:
        """Return the diameter to a thousandth."""
        return f"{value:.3f}"

    def value_diameter_mm(self, value: Decimal) -> str:
        """Return the diameter to a thousandth."""
        return f"{value:.3f}"

    def render_breaking_n(self, value: Any) -> str:
        """Return the load with its thousands parted."""
        return f"{value:,}"

    def value_breaking_n(self, value: Any) -> str:
        """Return the load as a plain number."""
        return str(value)

    def render_work_up_to_n(self, value: Any) -> str:
        """Return the load with its thousands parted."""
        return f"{value:,}"

    def value_work_up_to_n(self, value: Any) -> str:
        """Return the load as a plain number."""
        return str(value)

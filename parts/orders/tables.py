"""The list of orders."""

from typing import Any

from django.db.models import F, QuerySet
from django.urls import reverse

from parts.orders.models import PurchaseOrder
from workshop.web.tables import DayColumn, ListColumn, ListTable, MoneyColumn, NumberColumn, StateColumn

ORDER_LOOKS = {
    PurchaseOrder.State.DRAFT: "pencil",
    PurchaseOrder.State.SENT: "gone",
    PurchaseOrder.State.CLOSED: "full",
    PurchaseOrder.State.CANCELLED: "struck",
}


def order_look(order: Any) -> tuple[str, str]:
    """Return mark and word of an order; late is said instead of sent."""
    if getattr(order, "late", False):
        return ("wedge", "late")
    return (ORDER_LOOKS[order.state], order.get_state_display())


class OrderTable(ListTable):
    """Orders, newest first."""

    what = "Orders"
    row_name = "supplier"
    note = "totals without VAT"
    file_name = "orders"
    nothing = "No order yet. Tick what jobs need, or begin an order by hand."
    order_words = {"number": ("oldest first", "newest first"), "next_on": ("soonest first", "last first")}

    number = ListColumn(
        verbose_name="Order", empty_values=(), linkify=lambda record: reverse("order-show", args=[record.pk])
    )
    supplier = ListColumn(order_by=("supplier__name",))
    number_of_lines = NumberColumn(verbose_name="Lines")
    total = MoneyColumn()
    sent_at = DayColumn(verbose_name="Sent")
    next_on = DayColumn(verbose_name="Next comes")
    expected_on = DayColumn(verbose_name="All here by", wide=True)
    state = StateColumn(look=order_look)

    class Meta(ListTable.Meta):
        model = PurchaseOrder
        fields = ("number", "supplier", "number_of_lines", "total", "sent_at", "next_on", "expected_on", "state")
        order_by = ("-number",)

    def render_number(self, value: int | None) -> str:
        """Return the number, or that it is a draft."""
        return str(value) if value else "draft"

    def value_number(self, value: int | None) -> str:
        """Return the number, nothing for a draft."""
        return str(value) if value else ""

    def order_number(self, rows: QuerySet[PurchaseOrder], is_descending: bool) -> tuple[QuerySet[PurchaseOrder], bool]:
        """Sort by number with drafts, which have none yet, as the newest."""
        newest = F("number").desc(nulls_first=True) if is_descending else F("number").asc(nulls_last=True)
        return rows.order_by(newest, "-created_at" if is_descending else "created_at", "-pk"), True


class OrderTableForBench(OrderTable):
    """The same without prices."""

    note = ""

    class Meta(OrderTable.Meta):
        exclude = ("total",)

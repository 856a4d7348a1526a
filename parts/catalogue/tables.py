"""Lists of parts and suppliers."""

from decimal import Decimal
from typing import Any

from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from parts.catalogue.models import Part, Supplier
from parts.catalogue.words import number_words
from workshop.web.tables import ListColumn, ListTable, MoneyColumn, NumberColumn, StateColumn


class QuantityColumn(NumberColumn):
    """A quantity without needless noughts; nothing for nought. Exported as a plain number."""

    def render(self, value: Decimal) -> str:
        """Return the quantity in figures."""
        return number_words(value) if value else "–"

    def value(self, value: Decimal) -> str:
        """Return the quantity as a plain number."""
        return f"{value:.2f}"


def shelf_look(part: Any) -> tuple[str, ...]:
    """Return mark and word of how the shelf of a part stands, and the colour."""
    if not part.low:
        return ("full", "enough") if part.on_shelf else ("hole", "kept none", "soft")
    return ("pin", "below its mark, on order") if part.on_order > 0 else ("pin", "below its mark: order")


class PartTable(ListTable):
    """Parts with what lies on the shelf; prices are the manager's."""

    what = "Parts"
    file_name = "parts"
    nothing = "No part yet. Write the first one, or load the reference data."

    name = ListColumn(verbose_name="Part", linkify=lambda record: reverse("part-show", args=[record.code]))
    unit = ListColumn(verbose_name="Counted by")
    on_shelf = QuantityColumn(verbose_name="On the shelf")
    reorder_below = QuantityColumn(verbose_name="Mark", wide=True)
    on_order = QuantityColumn(verbose_name="On order")
    state = StateColumn(look=shelf_look, verbose_name="Shelf", order_by=("-low", "on_shelf"))
    lead_days = NumberColumn(verbose_name="Lead, days")
    supplier = ListColumn(order_by=("supplier__name",))
    price = MoneyColumn(wide=True)
    kind = ListColumn(wide=True)
    code = ListColumn(wide=True)

    class Meta(ListTable.Meta):
        model = Part
        fields = (
            "name", "unit", "on_shelf", "reorder_below", "on_order", "state", "lead_days", "supplier", "price", "kind",
            "code",
        )  # fmt: skip
        order_by = ("name",)


class PartTableForBench(PartTable):
    """The same without prices."""

    class Meta(PartTable.Meta):
        exclude = ("price",)


class SupplierTable(ListTable):
    """Suppliers by name."""

    what = "Suppliers"
    file_name = "suppliers"
    nothing = "No supplier yet. Write the first one, then choose it on the pages of the parts."

    name = ListColumn(verbose_name="Supplier", linkify=lambda record: reverse("supplier-show", args=[record.pk]))
    email = ListColumn(verbose_name="E-mail")
    number_of_parts = NumberColumn(verbose_name="Parts")
    open_orders = NumberColumn(verbose_name="Open orders")
    note = ListColumn(wide=True)

    class Meta(ListTable.Meta):
        model = Supplier
        fields = ("name", "email", "number_of_parts", "open_orders", "note")
        order_by = ("name",)

    def render_email(self, value: str) -> SafeString:
        """Return the address as a link."""
        return format_html('<a href="mailto:{}">{}</a>', value, value)

    def value_email(self, value: str) -> str:
        """Return the address alone."""
        return value

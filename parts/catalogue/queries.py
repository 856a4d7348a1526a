"""Questions about parts, suppliers and the shelf."""

from decimal import Decimal

from django.db.models import (
    BooleanField,
    Case,
    Count,
    DecimalField,
    F,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
    Value,
    When,
)
from django.db.models.functions import Coalesce

from parts.catalogue.models import Part, StockMove, Supplier

QUANTITY: "DecimalField[Decimal, Decimal]" = DecimalField(max_digits=12, decimal_places=2)


def parts_with_shelf() -> QuerySet[Part]:
    """Return all parts with ``on_shelf`` (in the part's unit) and ``low`` (below its reorder mark).

    The sum is a subquery, so the number of queries does not grow with the list.
    """
    shelf = StockMove.objects.filter(part=OuterRef("pk")).order_by().values("part").annotate(sum=Sum("quantity"))
    on_shelf = Coalesce(Subquery(shelf.values("sum"), output_field=QUANTITY), Decimal(0), output_field=QUANTITY)
    parts = Part.objects.select_related("supplier").annotate(on_shelf=on_shelf)
    low = When(on_shelf__lt=F("reorder_below"), then=Value(True))
    return parts.annotate(low=Case(low, default=Value(False), output_field=BooleanField()))


def number_low() -> int:
    """Return how many parts lie below their mark."""
    return parts_with_shelf().filter(low=True).count()  # type: ignore[misc]


def shelf_of(part: Part) -> Decimal:
    """Return what lies on the shelf of a part, in its own unit: the sum of its moves."""
    return StockMove.objects.filter(part=part).aggregate(sum=Sum("quantity"))["sum"] or Decimal(0)


def moves_of(part: Part) -> QuerySet[StockMove]:
    """Return the shelf moves of a part, newest first, each with the person."""
    return StockMove.objects.filter(part=part).select_related("by")


def suppliers_with_counts() -> QuerySet[Supplier]:
    """Return all suppliers with ``number_of_parts`` and ``number_of_orders`` still open."""
    return Supplier.objects.annotate(
        number_of_parts=Count("parts", distinct=True),
        open_orders=Count("orders", filter=Q(orders__state__in=["draft", "sent"]), distinct=True),
    )


def part_kinds() -> list[str]:
    """Return the kinds of parts in use, in order."""
    return list(Part.objects.exclude(kind="").order_by("kind").values_list("kind", flat=True).distinct())

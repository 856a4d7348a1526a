"""What the list of orders can be narrowed to."""

import django_filters
from django.db.models import Q, QuerySet

from parts.catalogue.models import Supplier
from parts.orders.models import PurchaseOrder

STATES = [("awaited", "still to come"), ("late", "late"), *PurchaseOrder.State.choices]


class OrderFilter(django_filters.FilterSet):
    """Orders by words, state and supplier."""

    q = django_filters.CharFilter(label="Number, part or instrument", method="filter_words")
    state = django_filters.ChoiceFilter(choices=STATES, method="filter_state", label="State", empty_label="all states")
    supplier = django_filters.ModelChoiceFilter(queryset=Supplier.objects.all(), empty_label="all suppliers")

    class Meta:
        model = PurchaseOrder
        fields: list[str] = ["q", "state", "supplier"]

    def filter_words(self, rows: QuerySet[PurchaseOrder], name: str, value: str) -> QuerySet[PurchaseOrder]:
        """Keep orders of that number, or with every word on one of their lines."""
        if value.strip().isdecimal() and len(value.strip()) < 9:
            by_words = PurchaseOrder.objects.filter(lines__for_words__regex=rf"(^|[^0-9]){value.strip()}([^0-9]|$)")
            return rows.filter(Q(number=int(value)) | Q(pk__in=by_words.values("pk")))
        for word in value.split():
            found = PurchaseOrder.objects.filter(
                Q(lines__name__icontains=word) | Q(lines__for_words__icontains=word) | Q(lines__measure__icontains=word)
            )
            rows = rows.filter(pk__in=found.values("pk"))
        return rows

    def filter_state(self, rows: QuerySet[PurchaseOrder], name: str, value: str) -> QuerySet[PurchaseOrder]:
        """Keep orders in a state; late ones are those past the day something still owed was expected."""
        if value == "late":
            return rows.filter(late=True)  # type: ignore[misc]
        return rows.filter(state="sent" if value == "awaited" else value)

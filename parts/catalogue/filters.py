"""What the list of parts can be narrowed to."""

import django_filters
from django.db.models import Q, QuerySet

from parts.catalogue.models import Part, Supplier
from parts.catalogue.queries import part_kinds

SHELF_CHOICES = [("low", "below its mark"), ("here", "something there"), ("none", "nothing there")]


class PartFilter(django_filters.FilterSet):
    """Parts by words, supplier, kind, and how the shelf stands."""

    q = django_filters.CharFilter(label="Name or code", method="filter_words")
    supplier = django_filters.ModelChoiceFilter(
        queryset=Supplier.objects.all(), empty_label="all suppliers", null_label="none yet"
    )
    kind = django_filters.ChoiceFilter(choices=lambda: [(kind, kind) for kind in part_kinds()], empty_label="all kinds")
    shelf = django_filters.ChoiceFilter(
        choices=SHELF_CHOICES, method="filter_shelf", label="On the shelf", empty_label="any amount"
    )

    class Meta:
        model = Part
        fields: list[str] = ["q", "supplier", "kind", "shelf"]

    def filter_words(self, rows: QuerySet[Part], name: str, value: str) -> QuerySet[Part]:
        """Keep parts with every word in their name, code or measure."""
        for word in value.split():
            rows = rows.filter(Q(name__icontains=word) | Q(code__icontains=word) | Q(measure_needed__icontains=word))
        return rows

    def filter_shelf(self, rows: QuerySet[Part], name: str, value: str) -> QuerySet[Part]:
        """Keep parts by what lies on the shelf."""
        if value == "low":
            return rows.filter(low=True)  # type: ignore[misc]
        if value == "here":
            return rows.filter(on_shelf__gt=0)  # type: ignore[misc]
        return rows.filter(on_shelf__lte=0)  # type: ignore[misc]

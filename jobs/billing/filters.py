"""What the list of invoices can be narrowed to."""

from typing import Any

import django_filters
from django.db.models import Q, QuerySet
from django.utils import timezone

from jobs.billing.models import Invoice


class InvoiceFilter(django_filters.FilterSet):
    """Invoices by words, kind, and whether money is open."""

    q = django_filters.CharFilter(label="Name or number", method="filter_words")
    kind = django_filters.ChoiceFilter(choices=Invoice.Kind.choices, empty_label="all kinds")
    money = django_filters.ChoiceFilter(
        label="Paid?",
        choices=(("open", "to be paid"), ("overdue", "overdue"), ("paid", "paid"), ("back", "to be paid back")),
        empty_label="paid or not",
        method="filter_money",
    )

    class Meta:
        model = Invoice
        fields: list[str] = ["kind"]

    def filter_words(self, rows: QuerySet[Invoice], name: str, value: str) -> QuerySet[Invoice]:
        """Keep invoices with every word in name, maker or one of the numbers."""
        for word in value.split()[:6]:
            found = Q(to_name__icontains=word) | Q(job__instrument__maker__icontains=word)
            found |= Q(assessment__instrument__maker__icontains=word)
            if word.isdigit() and len(word) < 10:
                found |= Q(number=int(word)) | Q(instrument_number=int(word))
            rows = rows.filter(found)
        return rows

    def filter_money(self, rows: Any, name: str, value: str) -> Any:
        """Keep invoices that are open, overdue, paid, or to be paid back; ``rows`` carry ``paid`` and ``still``."""
        if value == "paid":
            return rows.filter(stands=True, still=0).exclude(kind=Invoice.Kind.CREDIT)
        if value == "back":
            return rows.filter(still__lt=0)
        open_ones = rows.filter(still__gt=0)
        return open_ones.filter(due_on__lt=timezone.localdate()) if value == "overdue" else open_ones

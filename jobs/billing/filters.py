"""What the list of invoices can be narrowed to."""

from typing import Any

import django_filters
from django.db.models import F, Q, QuerySet
from django.utils import timezone

from jobs.billing.models import Invoice


class InvoiceFilter(django_filters.FilterSet):
    """Invoices by words, kind, and whether money is open."""

    q = django_filters.CharFilter(label="Name or number", method="filter_words")
    kind = django_filters.ChoiceFilter(choices=Invoice.Kind.choices, empty_label="all kinds")
    money = django_filters.ChoiceFilter(
        label="Paid?",
        choices=(("open", "to be paid"), ("overdue", "overdue"), ("paid", "paid")),
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
            if word.isdigit() and len(word) < 10:
                found |= Q(number=int(word)) | Q(job__instrument__number=int(word))
            rows = rows.filter(found)
        return rows

    def filter_money(self, rows: Any, name: str, value: str) -> Any:
        """Keep invoices that are open, overdue or paid; ``rows`` carry ``paid``."""
        if value == "paid":
            return rows.filter(paid__gte=F("total"))
        open_ones = rows.filter(stands=True, paid__lt=F("total")).exclude(kind=Invoice.Kind.CREDIT)
        return open_ones.filter(due_on__lt=timezone.localdate()) if value == "overdue" else open_ones

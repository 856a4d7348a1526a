"""What the list of quotes can be narrowed to."""

import django_filters
from django import forms
from django.db.models import Q, QuerySet

from jobs.intake.models import Instrument
from jobs.quoting.models import Quote


class QuoteFilter(django_filters.FilterSet):
    """Quotes by words, state, kind of instrument and day of sending."""

    q = django_filters.CharFilter(label="Name or number", method="filter_words")
    state = django_filters.ChoiceFilter(choices=Quote.State.choices, empty_label="all states")
    kind = django_filters.ChoiceFilter(
        field_name="instrument__kind", choices=Instrument.Kind.choices, empty_label="grand and upright", label="Kind"
    )
    sent_from = django_filters.DateFilter(
        field_name="sent_at", lookup_expr="date__gte", label="Sent from", widget=forms.DateInput({"type": "date"})
    )
    sent_to = django_filters.DateFilter(
        field_name="sent_at", lookup_expr="date__lte", label="to", widget=forms.DateInput({"type": "date"})
    )

    class Meta:
        model = Quote
        fields: list[str] = ["state"]

    def filter_words(self, rows: QuerySet[Quote], name: str, value: str) -> QuerySet[Quote]:
        """Keep quotes with every word in client or maker, or as the number of quote or instrument."""
        for word in value.split()[:8]:
            found = Q(instrument__client__name__icontains=word) | Q(instrument__maker__icontains=word)
            if word.isdecimal() and len(word) < 9:
                found |= Q(number=int(word)) | Q(instrument__number=int(word))
            rows = rows.filter(found)
        return rows

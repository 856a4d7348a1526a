"""What the list of messages can be narrowed to."""

import django_filters
from django.db.models import Q, QuerySet

from jobs.updates.models import Update


class UpdateFilter(django_filters.FilterSet):
    """Messages by words, state and event."""

    q = django_filters.CharFilter(label="Client, number or words", method="filter_words")
    state = django_filters.ChoiceFilter(choices=Update.State.choices, empty_label="all states")
    event = django_filters.ChoiceFilter(choices=Update.Event.choices, empty_label="all events", label="What happened")

    class Meta:
        model = Update
        fields: list[str] = ["state", "event"]

    def filter_words(self, rows: QuerySet[Update], name: str, value: str) -> QuerySet[Update]:
        """Keep messages with every word in client, subject, body or number."""
        for word in value.split()[:6]:
            found = Q(client__name__icontains=word) | Q(subject__icontains=word) | Q(body__icontains=word)
            if word.isdigit() and len(word) < 10:
                found |= Q(instrument__number=int(word))
            rows = rows.filter(found)
        return rows

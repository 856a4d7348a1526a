"""What the lists of clients and enquiries can be narrowed to."""

import django_filters
from django.db.models import QuerySet

from jobs.intake import queries
from jobs.intake.models import Client, Enquiry


class ClientFilter(django_filters.FilterSet):
    """Clients by words."""

    q = django_filters.CharFilter(label="Name, place, number or maker", method="filter_words")

    class Meta:
        model = Client
        fields: list[str] = []

    def filter_words(self, rows: QuerySet[Client], name: str, value: str) -> QuerySet[Client]:
        """Keep clients with every word somewhere."""
        return queries.clients_with(rows, value)


class EnquiryFilter(django_filters.FilterSet):
    """Enquiries by words and state."""

    q = django_filters.CharFilter(label="Client, maker, number or words", method="filter_words")
    state = django_filters.ChoiceFilter(choices=Enquiry.State.choices, empty_label="all states")

    class Meta:
        model = Enquiry
        fields: list[str] = ["state"]

    def filter_words(self, rows: QuerySet[Enquiry], name: str, value: str) -> QuerySet[Enquiry]:
        """Keep enquiries with every word somewhere."""
        return queries.enquiries_with(rows, value)

"""What the list of instruments can be narrowed to."""

from typing import Any

import django_filters
from django.db.models import Q, QuerySet

from jobs.intake.models import Instrument

STANDINGS = (
    ("here", "in the house"),
    ("accepted", "accepted, to arrive"),
    ("asked", "nothing accepted"),
    ("home", "home again"),
)


class InstrumentFilter(django_filters.FilterSet):
    """Instruments by words, kind and where they stand."""

    q = django_filters.CharFilter(label="Maker, client or number", method="filter_words")
    kind = django_filters.ChoiceFilter(choices=Instrument.Kind.choices, empty_label="grand and upright")
    stands = django_filters.ChoiceFilter(
        label="Where it stands", choices=STANDINGS, empty_label="anywhere", method="filter_stands"
    )

    class Meta:
        model = Instrument
        fields: list[str] = ["kind"]

    def filter_words(self, rows: QuerySet[Instrument], name: str, value: str) -> QuerySet[Instrument]:
        """Keep instruments with every word in maker, client, finish or number."""
        for word in value.split()[:6]:
            found = Q(maker__icontains=word) | Q(client__name__icontains=word) | Q(finish__icontains=word)
            if word.isdigit() and len(word) < 10:
                found |= Q(number=int(word))
            rows = rows.filter(found)
        return rows

    def filter_stands(self, rows: Any, name: str, value: str) -> Any:
        """Keep instruments that stand there; ``rows`` carry ``job_state``."""
        if value == "here":
            return rows.filter(job_state__in=("in_house", "ready"))
        if value == "accepted":
            return rows.filter(job_state="accepted")
        if value == "home":
            return rows.filter(job_state="returned")
        return rows.filter(job_state__isnull=True)

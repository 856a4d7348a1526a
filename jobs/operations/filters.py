"""What the list of norms can be narrowed to."""

import django_filters
from django.db.models import Q, QuerySet

from jobs.operations.models import Operation, Stage
from workshop.people.models import Skill


class NormFilter(django_filters.FilterSet):
    """Operations by words, stage, kind and skill."""

    q = django_filters.CharFilter(label="Words", method="filter_words")
    stage = django_filters.ChoiceFilter(choices=Stage.choices, empty_label="all stages")
    applies_to = django_filters.ChoiceFilter(
        label="For",
        choices=(("grand", "grand"), ("upright", "upright")),
        empty_label="every kind",
        method="filter_kind",
    )
    skill = django_filters.ModelChoiceFilter(queryset=Skill.objects.all(), empty_label="all skills")

    class Meta:
        model = Operation
        fields: list[str] = ["stage", "skill"]

    def filter_words(self, rows: QuerySet[Operation], name: str, value: str) -> QuerySet[Operation]:
        """Keep operations with every word in name, plain words or area."""
        for word in value.split()[:6]:
            rows = rows.filter(Q(name__icontains=word) | Q(client_words__icontains=word) | Q(area__icontains=word))
        return rows

    def filter_kind(self, rows: QuerySet[Operation], name: str, value: str) -> QuerySet[Operation]:
        """Keep operations that fit that kind."""
        return rows.filter(applies_to__in=("both", value))

"""What the list of hours can be narrowed to."""

import django_filters
from django import forms
from django.db.models import Q, QuerySet

from jobs.hours.models import TimeEntry
from workshop.people.models import Person


class EntryFilter(django_filters.FilterSet):
    """Hours by words, person and days."""

    q = django_filters.CharFilter(label="Instrument or task", method="filter_words")
    person = django_filters.ModelChoiceFilter(queryset=Person.objects.all(), empty_label="everybody")
    since = django_filters.DateFilter(
        field_name="on",
        lookup_expr="gte",
        label="From",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )
    until = django_filters.DateFilter(
        field_name="on",
        lookup_expr="lte",
        label="To",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )

    kind = django_filters.ChoiceFilter(
        label="Which",
        choices=[("corrected", "corrected"), ("withdrawn", "withdrawn"), ("all", "all, withdrawn too")],
        empty_label="those that stand",
        method="filter_kind",
    )

    class Meta:
        model = TimeEntry
        fields: list[str] = ["person"]

    def filter_words(self, rows: QuerySet[TimeEntry], name: str, value: str) -> QuerySet[TimeEntry]:
        """Keep entries with every word in task, maker or number."""
        for word in value.split()[:6]:
            found = Q(task__name__icontains=word) | Q(task__job__instrument__maker__icontains=word)
            if word.isdigit() and len(word) < 10:
                found |= Q(task__job__instrument__number=int(word))
            rows = rows.filter(found)
        return rows

    def filter_kind(self, rows: QuerySet[TimeEntry], name: str, value: str) -> QuerySet[TimeEntry]:
        """Keep the corrected or the withdrawn ones."""
        if value == "corrected":
            return rows.filter(replaces__isnull=False, withdrawn=False)
        return rows.filter(withdrawn=True) if value == "withdrawn" else rows

    def filter_queryset(self, queryset: QuerySet[TimeEntry]) -> QuerySet[TimeEntry]:
        """Hide withdrawn entries unless they were asked for."""
        rows: QuerySet[TimeEntry] = super().filter_queryset(queryset)
        return rows if self.form.cleaned_data.get("kind") else rows.filter(withdrawn=False)

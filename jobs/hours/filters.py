"""What the list of hours can be narrowed to."""

from typing import Any

import django_filters
from django import forms
from django.db.models import Q, QuerySet

from jobs.hours.list_queries import ASSESSMENT, TASK, VISIT, hours_rows, house_listed
from jobs.hours.models import HouseTime, TimeEntry
from workshop.people.models import Person

HOUSE = "house"


class EntryFilter(django_filters.FilterSet):
    """Hours by words, person, days, and of what; begins with entries on tasks and adds the time of the house.

    ``qs`` is one query of plain rows; ``parts`` are the two it is made of.
    """

    q = django_filters.CharFilter(label="Instrument or task", method="filter_nothing")
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
    work = django_filters.ChoiceFilter(
        label="Of what",
        choices=[
            (TASK, "tasks"),
            (HOUSE, "the house"),
            (ASSESSMENT, "assessments"),
            (VISIT, "guarantee visits"),
        ],
        empty_label="everything",
        method="filter_nothing",
    )
    kind = django_filters.ChoiceFilter(
        label="Which",
        choices=[("corrected", "corrected"), ("withdrawn", "withdrawn"), ("all", "all, withdrawn too")],
        empty_label="those that stand",
        method="filter_nothing",
    )

    class Meta:
        model = TimeEntry
        fields: list[str] = ["person"]

    def filter_nothing(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        """Leave the rows: ``parts`` narrows both kinds of hours by it."""
        return rows

    def filter_queryset(self, queryset: QuerySet[TimeEntry]) -> Any:
        """Return the rows of both kinds of hours in one query."""
        return hours_rows(*self._narrowed(queryset))

    def parts(self) -> tuple[QuerySet[TimeEntry], QuerySet[HouseTime]]:
        """Return the entries on tasks and the time of the house that the filters leave."""
        self.form.is_valid()
        return self._narrowed(self.queryset.all())

    def _narrowed(self, entries: QuerySet[TimeEntry]) -> tuple[QuerySet[TimeEntry], QuerySet[HouseTime]]:
        said = self.form.cleaned_data
        house, work, kind = house_listed(), said.get("work"), said.get("kind")
        for name in ("person", "since", "until"):
            entries, house = (self.filters[name].filter(rows, said.get(name)) for rows in (entries, house))
        for word in (said.get("q") or "").split()[:6]:
            entries = entries.filter(_on_task(word))
            house = house.filter(_of_house(word))
        if work:
            entries = entries if work == TASK else entries.none()
            house = house.filter(**_OF_HOUSE[work]) if work in _OF_HOUSE else house.none()
        if kind == "corrected":
            return entries.filter(replaces__isnull=False, withdrawn=False), house.none()
        if kind == "withdrawn":
            return entries.filter(withdrawn=True), house.filter(taken_back_at__isnull=False)
        return (entries, house) if kind else (entries.filter(withdrawn=False), house.filter(taken_back_at=None))


_OF_HOUSE: dict[str, dict[str, bool]] = {
    HOUSE: {},
    ASSESSMENT: {"assessment__isnull": False},
    VISIT: {"job__isnull": False},
}


def _on_task(word: str) -> Q:
    return Q(task__name__icontains=word) | _instrument("task__job__instrument", word)


def _of_house(word: str) -> Q:
    found = _instrument("assessment__instrument", word) | _instrument("job__instrument", word)
    if word.lower() in "assessment":
        found |= Q(assessment__isnull=False)
    if word.lower() in "visit under guarantee":
        found |= Q(job__isnull=False)
    return found


def _instrument(path: str, word: str) -> Q:
    found = Q(**{f"{path}__maker__icontains": word})
    return found | Q(**{f"{path}__number": int(word)}) if word.isdigit() and len(word) < 10 else found

"""Questions about time of the house: assessments before an order, visits under guarantee. What stands counts."""

import datetime as dt
from collections.abc import Collection, Iterable

from django.db.models import QuerySet, Sum

from jobs.assessment.models import Assessment
from jobs.hours.models import HouseTime
from jobs.worklist.models import Job
from workshop.people.models import Person


def house_standing() -> QuerySet[HouseTime]:
    """Return the time of the house that was not taken back."""
    return HouseTime.objects.filter(taken_back_at=None)


def house_time_of(about: Assessment | Job) -> list[HouseTime]:
    """Return all time kept on an assessment or on visits after a job, newest first, what was taken back too."""
    rows = HouseTime.objects.select_related("person", "taken_back_by")
    return list(rows.filter(assessment=about) if isinstance(about, Assessment) else rows.filter(job=about))


def house_time_on(person: Person, day: dt.date) -> list[HouseTime]:
    """Return a person's time of the house on one day, in order."""
    rows = house_standing().filter(person=person, on=day).select_related("assessment__instrument", "job__instrument")
    return list(rows.order_by("pk"))


def minutes_by_assessment(assessments: Iterable[int]) -> dict[int, int]:
    """Return the minutes kept on each of some assessments (primary keys)."""
    rows = house_standing().filter(assessment__in=list(assessments)).order_by().values_list("assessment")
    return {key: total for key, total in rows.annotate(total=Sum("minutes")) if key is not None}


def minutes_of_visits(jobs: Collection[Job]) -> dict[int, int]:
    """Return job -> minutes of its visits under guarantee."""
    rows = house_standing().filter(job__in=jobs).order_by().values_list("job")
    return {key: total for key, total in rows.annotate(total=Sum("minutes")) if key is not None}

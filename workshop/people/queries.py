"""Questions about the people of the house."""

from datetime import date

from django.db.models import Prefetch, QuerySet

from workshop.people.models import Leave, Person


def leaves_from(person: Person | None, day: date) -> QuerySet[Leave]:
    """Return the days away of one person that have not passed on ``day``, soonest first; none for nobody."""
    return Leave.objects.filter(person=person, last_day__gte=day) if person else Leave.objects.none()


def people_with_leave(day: date) -> QuerySet[Person]:
    """Return everybody, who works here now first, with skills and, as ``coming_leaves``, days away from ``day`` on."""
    coming = Prefetch("leaves", Leave.objects.filter(last_day__gte=day), to_attr="coming_leaves")
    return Person.objects.order_by("-is_active", "first_name", "username").prefetch_related("skills", coming)

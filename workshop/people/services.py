"""Changes of the people of the house."""

import datetime as dt
from collections.abc import Iterable

from django.db import transaction

from workshop.people.models import Leave, Person, Skill
from workshop.web.errors import Refused
from workshop.web.rows import row_check


@transaction.atomic
def person_write(
    *,
    by: Person,
    first_name: str,
    username: str,
    role: str,
    email: str = "",
    skills: Iterable[Skill] = (),
    workdays: Iterable[int] = (),
    on_the_bench: bool = True,
    is_active: bool = True,
    password: str = "",
    person: Person | None = None,
) -> Person:
    """Write a person down, or change ``person``. Somebody made inactive is out at the next page they ask for.

    Raises Refused for a new person without a password, a name taken, or the last manager stepping down.
    """
    new = person is None
    person = person or Person()
    if new and not password:
        raise Refused("A new person needs a password of at least twelve characters.")
    losing = not new and person.is_manager and (role != Person.Role.MANAGER or not is_active)
    if losing and not Person.objects.filter(role=Person.Role.MANAGER, is_active=True).exclude(pk=person.pk).exists():
        raise Refused(f"{person} is the only manager: make somebody else manager first.")
    person.first_name = first_name.strip()
    person.username = username.strip()
    person.role = role
    person.email = email.strip()
    person.workdays = sorted(set(workdays))
    person.on_the_bench = on_the_bench
    person.is_active = is_active
    if password:
        person.set_password(password)
    row_check(person)
    person.save()
    person.skills.set(skills)
    return person


@transaction.atomic
def leave_write(*, person: Person, first_day: dt.date, last_day: dt.date, reason: str, by: Person) -> Leave:
    """Write days down on which somebody is away. Raises Refused when they end before they begin."""
    leave = Leave(person=person, first_day=first_day, last_day=last_day, reason=reason.strip() or "away")
    row_check(leave)
    leave.save()
    return leave


@transaction.atomic
def leave_drop(*, leave: Leave, by: Person) -> None:
    """Take days away back."""
    leave.delete()

"""Changes of the shop, its places and closures."""

from typing import Any

from django.db import transaction

from workshop.calendar.models import Closure
from workshop.house.models import Shop
from workshop.house.queries import the_shop
from workshop.people.models import Person
from workshop.places.models import Place
from workshop.web.rows import row_check


@transaction.atomic
def shop_write(*, by: Person, **values: Any) -> Shop:
    """Change the shop's own row. Sent quotes keep the rates they were sent with. Raises Refused for a bad value."""
    shop = Shop.objects.select_for_update().get(pk=the_shop().pk)
    for name, value in values.items():
        setattr(shop, name, value)
    row_check(shop)
    shop.save()
    return shop


@transaction.atomic
def place_write(*, by: Person, place: Place | None = None, **values: Any) -> Place:
    """Write a place down, or change ``place``. Raises Refused for a name taken."""
    place = place or Place()
    for name, value in values.items():
        setattr(place, name, value)
    row_check(place)
    place.save()
    return place


@transaction.atomic
def closure_write(*, by: Person, **values: Any) -> Closure:
    """Write days down on which the shop is shut. Raises Refused when they end before they begin."""
    closure = Closure(**values)
    row_check(closure)
    closure.save()
    return closure


@transaction.atomic
def closure_drop(*, closure: Closure, by: Person) -> None:
    """Take a closure back."""
    closure.delete()

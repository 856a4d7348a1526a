"""Changes to the catalogue and the shelf."""

import datetime as dt
from decimal import Decimal
from typing import Any

from django.db import transaction

from parts.catalogue.models import Part, StockMove, Supplier
from parts.catalogue.queries import shelf_of
from parts.catalogue.words import amount_words
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check

PART_FIELDS = (
    "code", "name", "unit", "kind", "measure_needed", "supplier", "price", "lead_days", "reorder_below", "shelf",
)  # fmt: skip
SUPPLIER_FIELDS = ("name", "email", "address", "note")


def stock_on_hand(part: Part) -> Decimal:
    """Return what lies on the shelf of a part, in its own unit: the sum of its moves."""
    return shelf_of(part)


@transaction.atomic
def stock_move(*, part: Part, quantity: Decimal, reason: str, by: Person | None, at: dt.datetime) -> StockMove:
    """Put something on the shelf (positive) or take it off (negative), in the part's unit.

    The part is locked, so that two people cannot take the same last piece. Raises Refused when more would be
    taken than lies there, when nothing moves, or when no reason is given.
    """
    part = Part.objects.select_for_update().get(pk=part.pk)
    if not quantity:
        raise Refused(f"Nothing moves: give how much {part} goes on or comes off the shelf, more than nought.")
    if not reason.strip():
        raise Refused("Say why in a few words, so that the shelf can be checked later.")
    here = stock_on_hand(part)
    if here + quantity < 0:
        raise Refused(
            f"{_lies(here, part)} on the shelf; {amount_words(-quantity, part.unit)} cannot be taken. "
            "Count the shelf and correct it first, or order more."
        )
    move = StockMove(part=part, quantity=quantity, reason=reason.strip(), by=by, at=at)
    row_check(move)
    move.save()
    return move


@transaction.atomic
def part_write(*, part: Part | None, by: Person, **values: Any) -> Part:
    """Write a new part, or change one. ``values`` are fields of ``PART_FIELDS``.

    Raises Refused when the unit of a part would change that has been ordered or shelved: its quantities
    would then mean something else, or for a bad value.
    """
    part = Part.objects.select_for_update().get(pk=part.pk) if part else Part()
    unit = values.get("unit", part.unit)
    if part.pk and unit != part.unit and (part.moves.exists() or part.order_lines.exists()):
        raise Refused(
            f"{part} is counted by the {part.unit} on the shelf and on orders, so its unit stays. "
            "Write a new part for the other unit."
        )
    for name, value in values.items():
        if name not in PART_FIELDS:
            raise TypeError(f"A part has no field {name} to write.")
        setattr(part, name, value)
    row_check(part)
    part.save()
    return part


@transaction.atomic
def supplier_write(*, supplier: Supplier | None, by: Person, **values: Any) -> Supplier:
    """Write a new supplier, or change one. ``values`` are fields of ``SUPPLIER_FIELDS``.

    Raises Refused for a bad value or a name already taken.
    """
    supplier = supplier or Supplier()
    for name, value in values.items():
        if name not in SUPPLIER_FIELDS:
            raise TypeError(f"A supplier has no field {name} to write.")
        setattr(supplier, name, value)
    row_check(supplier)
    supplier.save()
    return supplier


def _lies(here: Decimal, part: Part) -> str:
    if here <= 0:
        return f"No {part} lies"
    return f"Only {amount_words(here, part.unit)} of {part} {'lies' if here <= 1 else 'lie'}"

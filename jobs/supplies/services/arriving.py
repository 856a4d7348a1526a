"""What jobs get: from the shelf, or from what arrives for an order.

Goods that arrive for an order line go to the needs on it first; only what those leave over goes onto the shelf.
So at any time the shelf has been given ``shelf_share(line)`` of a line, and every change here moves the difference.
"""

import datetime as dt
from collections.abc import Callable, Iterable
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from jobs.supplies.calc import covered
from jobs.supplies.models import Need
from jobs.supplies.queries import shelf_share
from jobs.supplies.services.holding import needs_held
from jobs.worklist.models import Task
from parts.catalogue.services import stock_move
from parts.orders.models import OrderLine, PurchaseOrder, Receipt
from parts.orders.queries import arrived_of
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check

State = Need.State


@transaction.atomic
def need_from_shelf(*, need: Need, by: Person, at: dt.datetime) -> Need:
    """Take what a need wants from the shelf, at once and whole; the shelf is held meanwhile.

    Of an order on its way the goods then go to the shelf instead. Raises Refused when too little lies there, when
    it is here or not needed, or when it is made to measure.
    """
    [need] = needs_held([need])
    if need.state in (State.HERE, State.NOT_NEEDED):
        raise Refused(f"{need.part} for {need.task.job} is {need.get_state_display()} already.")
    stock_move(part=need.part, quantity=-need.quantity, reason=_reason("taken for", need), by=by, at=at)

    def take() -> None:
        need.state, need.order_line, need.from_shelf = State.HERE, None, True
        need.here_on = timezone.localtime(at).date()
        row_check(need)
        need.save()

    _change(need.order_line, take, by=by, at=at)
    return need


@transaction.atomic
def need_drop(*, need: Need, reason: str, by: Person, at: dt.datetime) -> Need:
    """Let go of a need, with the reason in words; what had arrived for it goes to the shelf.

    An order on its way is not changed: its goods go to the shelf when they come. Raises Refused without a reason,
    for a need already let go, or one whose task is done.
    """
    [need] = needs_held([need])
    if not reason.strip():
        raise Refused("Say in a few words why it is not needed any more.")
    if need.state == State.NOT_NEEDED:
        raise Refused(f"{need.part} for {need.task.job} is not needed already.")
    if need.state == State.HERE and need.task.state == Task.State.DONE:
        raise Refused(f"“{need.task}” is done, so {need.part} was used; it cannot go back to the shelf from here.")

    def let_go() -> None:
        if need.from_shelf and need.state == State.HERE:
            stock_move(part=need.part, quantity=need.quantity, reason=_reason("back from", need), by=by, at=at)
        need.state, need.order_line, need.from_shelf, need.here_on = State.NOT_NEEDED, None, False, None
        need.dropped_because = reason.strip()
        row_check(need)
        need.save()

    _change(need.order_line, let_go, by=by, at=at)
    return need


@transaction.atomic
def needs_arrived(*, line: OrderLine, on: dt.date) -> list[Need]:
    """Mark the needs on a line as here which its receipts cover, oldest first; return those that just came."""
    needs = list(Need.objects.select_for_update().filter(order_line=line).order_by("id"))
    given = sum((need.quantity for need in needs if need.state == State.HERE), Decimal(0))
    waiting = [need for need in needs if need.state == State.ORDERED]
    here = covered([need.quantity for need in waiting], arrived_of(line) - given)
    came = [need for need, is_here in zip(waiting, here, strict=True) if is_here]
    Need.objects.filter(pk__in=[need.pk for need in came]).update(state=State.HERE, here_on=on)
    for need in came:
        need.state, need.here_on = State.HERE, on
    return came


@transaction.atomic
def receipt_share_out(*, receipt: Receipt, by: Person, at: dt.datetime) -> list[Need]:
    """Hand what just arrived to the needs on its line and put the rest on the shelf; return the needs now here.

    When a line has come in full and a need on it is still not covered, because less was ordered than needed, that
    need is open again.
    """
    line = OrderLine.objects.select_related("part", "order").get(pk=receipt.line_id)
    before = shelf_share(line, arrived_of(line) - receipt.quantity)
    came = needs_arrived(line=line, on=receipt.on)
    if arrived_of(line) >= line.quantity:
        _release(Need.objects.filter(order_line=line, state=State.ORDERED))
    _shelve(line, shelf_share(line, arrived_of(line)) - before, by, at)
    return came


@transaction.atomic
def needs_called_off(*, order: PurchaseOrder, by: Person, at: dt.datetime) -> int:
    """Open the needs again that an order called off was to bring; return how many.

    What had arrived but covered no need goes to the shelf.
    """
    count = 0
    for line in order.lines.select_related("part", "order").order_by("pk"):
        waiting = Need.objects.filter(order_line=line, state=State.ORDERED)
        count += waiting.count()
        _change(line, lambda rows=waiting: _release(rows), by=by, at=at)  # type: ignore[misc]
    return count


def _release(needs: Iterable[Need]) -> None:
    keys = [need.pk for need in needs]
    Need.objects.filter(pk__in=keys).update(state=State.OPEN, order_line=None)


def _change(line: OrderLine | None, act: Callable[[], None], *, by: Person, at: dt.datetime) -> None:
    """Do something to the needs of a line, and give the shelf what they then leave over."""
    before = shelf_share(line, arrived_of(line)) if line else Decimal(0)
    act()
    if line:
        _shelve(line, shelf_share(line, arrived_of(line)) - before, by, at)


def _shelve(line: OrderLine, quantity: Decimal, by: Person, at: dt.datetime) -> None:
    if quantity > 0:
        reason = f"arrived, order {line.order.number}, not wanted by a job"
        stock_move(part=line.part, quantity=quantity, reason=reason, by=by, at=at)


def _reason(words: str, need: Need) -> str:
    return f"{words} {need.task.job}: {need.task}"[:120]

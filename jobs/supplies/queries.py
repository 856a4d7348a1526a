"""Questions about what jobs need."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import QuerySet, Sum
from django.utils import timezone

from jobs.operations.models import OperationPart
from jobs.supplies.calc import Slip, arrival_day, covered, order_slip
from jobs.supplies.models import Need
from jobs.worklist.models import Job
from parts.catalogue.models import Part, StockMove, Supplier
from parts.orders.models import OrderLine, PurchaseOrder
from workshop.calendar.calc.working import ShopWeek
from workshop.calendar.queries import shop_week
from workshop.house.queries import the_shop

State = Need.State
FOR_WORDS_LENGTH = 120
_HORIZON = dt.timedelta(days=400)


def open_needs(job: Job | None = None) -> QuerySet[Need]:
    """Return the needs to order or on their way, of one job or of all, with part, supplier, task and instrument."""
    needs = needs_with_words().filter(state__in=[State.OPEN, State.ORDERED])
    return needs.filter(task__job=job) if job else needs


def needs_with_words() -> QuerySet[Need]:
    """Return all needs with what a page says about them."""
    return Need.objects.select_related(
        "part__supplier", "task__operation", "task__job__instrument__client", "order_line__order__supplier"
    )


def needs_of(job: Job) -> list[Need]:
    """Return all needs of a job in the order of its tasks."""
    return list(needs_with_words().filter(task__job=job).order_by("task__position", "task__pass_number", "pk"))


def needs_of_line(lines: Iterable[OrderLine]) -> dict[int, list[Need]]:
    """Return the needs that order lines are for, by line."""
    found: dict[int, list[Need]] = defaultdict(list)
    for need in needs_with_words().filter(order_line__in=list(lines)).order_by("pk"):
        if need.order_line_id:
            found[need.order_line_id].append(need)
    return found


def jobs_now_complete(came: Iterable[Need]) -> list[Job]:
    """Return the jobs of needs that just came which wait for nothing more, oldest first."""
    jobs = Job.objects.filter(tasks__needs__in=[need.pk for need in came]).distinct()
    waiting = Need.objects.filter(state__in=[State.OPEN, State.ORDERED]).values("task__job")
    return list(jobs.exclude(pk__in=waiting).select_related("instrument__client").order_by("pk"))


def uses_of(part: Part) -> list[OperationPart]:
    """Return the operations that ask for a part, in the order of the catalogue."""
    uses = OperationPart.objects.filter(part=part).select_related("operation")
    return list(uses.order_by("operation__position", "operation__code"))


def shelf_share(line: OrderLine, arrived: Decimal) -> Decimal:
    """Return how much of what has arrived of a line belongs on the shelf: what its needs leave over."""
    wanted = Need.objects.filter(order_line=line).exclude(state=State.NOT_NEEDED).aggregate(sum=Sum("quantity"))["sum"]
    return max(Decimal(0), arrived - (wanted or Decimal(0)))


def instruments_in_words(needs: Iterable[Need], longest: int = FOR_WORDS_LENGTH) -> str:
    """Return for which instruments needs are: with names, or by number alone where the names would not fit."""
    instruments = {need.task.job.instrument.number: need.task.job.instrument for need in needs}
    named = ", ".join(str(instruments[number]) for number in sorted(instruments))
    if len(named) <= longest:
        return named
    numbers = ", ".join(str(number) for number in sorted(instruments))
    return numbers if len(numbers) <= longest else f"{len(instruments)} instruments"


# ---- when a task can have its parts --------------------------------------------------------------------


def arrivals(task_ids: Collection[int], *, today: dt.date | None = None) -> dict[int, dt.date]:
    """Return for each task that needs anything the day all of it can be there (that morning).

    A part that is here counts from the day it came; one on order from its expected day, or from the next open day
    when that is past; one lying on the shelf from today; any other from today plus its lead time. Tasks that need
    nothing are left out.
    """
    today = today or timezone.localdate()
    needs = list(
        Need.objects.filter(task__in=list(task_ids), state__in=[State.OPEN, State.ORDERED, State.HERE])
        .select_related("part", "order_line")
        .order_by("pk")
    )
    week = shop_week(the_shop(), today, today + _HORIZON)
    on_shelf = _met_by_shelf({need.part_id for need in needs if need.state == State.OPEN})
    days: dict[int, dt.date] = {}
    for need in needs:
        day = _day_of(need, today, week, need.pk in on_shelf)
        days[need.task_id] = max(day, days.get(need.task_id, day))
    return days


def _day_of(need: Need, today: dt.date, week: ShopWeek, on_shelf: bool) -> dt.date:
    if need.state == State.HERE:
        return need.here_on or today
    line = need.order_line
    if need.state == State.ORDERED and line is not None and line.expected_on is not None:
        if line.expected_on < today:
            return week.next_open(today + dt.timedelta(days=1))
        return line.expected_on
    return today if on_shelf else arrival_day(today, need.part.lead_days, week)


def _met_by_shelf(parts: Collection[int], starts: Mapping[int, dt.date] | None = None) -> set[int]:
    """Return the open needs which the shelf would meet, the earliest planned start and then the oldest need first.

    What is made to measure is not taken from the shelf.
    """
    starts = starts or {}
    stock = dict(StockMove.objects.filter(part__in=parts).order_by().values_list("part").annotate(sum=Sum("quantity")))
    waiting: dict[int, list[Need]] = defaultdict(list)
    open_ones = Need.objects.filter(part__in=parts, state=State.OPEN, order_line__isnull=True)
    for need in open_ones.filter(part__measure_needed="", measure="").order_by("pk"):
        waiting[need.part_id].append(need)
    met: set[int] = set()
    for part, needs in waiting.items():
        needs.sort(key=lambda need: (starts.get(need.task_id, dt.date.max), need.pk))
        here = covered([need.quantity for need in needs], stock.get(part, Decimal(0)))
        met.update(need.pk for need, is_here in zip(needs, here, strict=True) if is_here)
    return met


# ---- what to order, and by when ------------------------------------------------------------------------


@dataclass(frozen=True)
class NeedRow:
    """One need as the buyer reads it.

    ``on_shelf`` is in the part's unit; ``slip`` is known where a planned start is; ``shelf_gives_it`` says that the
    shelf would still have it after those that begin earlier took theirs.
    """

    need: Need
    needed_on: dt.date | None
    slip: Slip | None
    on_shelf: Decimal
    shelf_gives_it: bool

    @property
    def measure_missing(self) -> bool:
        """Tell whether the measure must be taken before it can be ordered."""
        return bool(self.need.part.measure_needed) and not self.need.measure

    def is_due(self, today: dt.date) -> bool:
        """Tell whether today is the last safe day to order it."""
        return self.slip is not None and self.slip.last_safe_day == today

    @property
    def draft(self) -> PurchaseOrder | None:
        """The draft order it already stands on."""
        line = self.need.order_line
        return line.order if line is not None and self.need.state == State.OPEN else None

    @property
    def can_be_ordered(self) -> bool:
        """Tell whether it may be ticked."""
        return not self.measure_missing and self.draft is None and self.need.part.supplier is not None


@dataclass(frozen=True)
class SupplierNeeds:
    """What is to be ordered from one supplier (None: nobody yet), most pressing first."""

    supplier: Supplier | None
    rows: tuple[NeedRow, ...]


def need_rows(needs: Iterable[Need], starts: Mapping[int, dt.date], today: dt.date) -> list[NeedRow]:
    """Return needs with the shelf and the last safe order day; ``starts`` is task id -> planned start, handed in."""
    needs = list(needs)
    shop = the_shop()
    latest = max([today, *(starts[need.task_id] for need in needs if need.task_id in starts)])
    week = shop_week(shop, today - _HORIZON, latest + _HORIZON)
    parts = {need.part_id for need in needs}
    stock = dict(StockMove.objects.filter(part__in=parts).order_by().values_list("part").annotate(sum=Sum("quantity")))
    given = _met_by_shelf(parts, starts)
    rows = []
    for need in needs:
        start = starts.get(need.task_id)
        slip = None
        if start is not None:
            slip = order_slip(ordered_on=today, needed_on=start, lead_days=need.part.lead_days, week=week)
        here = stock.get(need.part_id, Decimal(0))
        rows.append(NeedRow(need, start, slip, here, need.pk in given))
    return rows


def needs_by_supplier(rows: Iterable[NeedRow]) -> list[SupplierNeeds]:
    """Return needs grouped by supplier, by name, those of nobody last; in each the earliest last safe day first."""
    groups: dict[int, list[NeedRow]] = defaultdict(list)
    suppliers: dict[int, Supplier | None] = {}
    for row in rows:
        supplier = row.need.part.supplier
        key = supplier.pk if supplier else 0
        suppliers[key] = supplier
        groups[key].append(row)
    ordered = sorted(groups, key=lambda key: (key == 0, str(suppliers[key]).casefold()))
    return [SupplierNeeds(suppliers[key], tuple(most_pressing_first(groups[key]))) for key in ordered]


def most_pressing_first(rows: Iterable[NeedRow]) -> list[NeedRow]:
    """Return needs with the earliest last safe day first, those no plan holds yet last."""
    return sorted(rows, key=_pressing)


def _pressing(row: NeedRow) -> tuple[bool, dt.date, int, int]:
    last = row.slip.last_safe_day if row.slip else dt.date.max
    return row.slip is None, last, row.need.task.job.instrument.number, row.need.pk

"""Questions about the catalogue of work."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass

from django.db.models import Count, Prefetch, QuerySet

from jobs.operations.calc import catalogue as data
from jobs.operations.models import AlternativeGroup, Operation, OperationPart


def operation_as_data(operation: Operation) -> data.Operation:
    """Return a row of the catalogue as plain data, hours per unit as floats."""
    return data.Operation(
        code=operation.code,
        name=operation.name,
        area=operation.area,
        kind=operation.applies_to,
        unit=operation.unit,
        usual_grand=float(operation.usual_grand),
        usual_upright=float(operation.usual_upright),
        repeats=data.IN_TURN if operation.in_passes else data.TOGETHER,
        hours_low=float(operation.hours_low),
        hours_likely=float(operation.hours_likely),
        hours_high=float(operation.hours_high),
        upright_factor=float(operation.upright_factor),
        skill=operation.skill.code,
        place=operation.work_place,
        wait_hours=float(operation.wait_hours),
        least_days=operation.span_days,
    )


@dataclass
class _Held:
    """What was read of the catalogue inside a ``catalogue_held`` block."""

    catalogue: data.Catalogue | None = None
    rows: dict[str, Operation] | None = None


_held: ContextVar[_Held | None] = ContextVar("catalogue_held", default=None)


@contextmanager
def catalogue_held() -> Iterator[None]:
    """Read the catalogue and its rows once inside this block, for a run over many quotes and jobs.

    Only what runs in this block sees it, no other thread or request. A norm changed or the reference loaded inside is
    read anew; rows written past those services, and prices of parts, are as they were at the first reading.
    """
    token = _held.set(_Held())
    try:
        yield
    finally:
        _held.reset(token)


def catalogue_forget() -> None:
    """Have the catalogue read anew inside a ``catalogue_held`` block: for the services that change it."""
    if (held := _held.get()) is not None:
        held.catalogue = held.rows = None


def catalogue() -> data.Catalogue:
    """Return all operations with their links, in the order of the catalogue.

    Four questions to the database, whatever the number of operations. It is read anew each time: ask once a
    request and hand it on, so that a changed norm is never hidden by something remembered. A run over many quotes and
    jobs says ``catalogue_held``.
    """
    held = _held.get()
    if held is None:
        return _read()
    if held.catalogue is None:
        held.catalogue = _read()
    return held.catalogue


def _read() -> data.Catalogue:
    operations = {
        operation.code: operation_as_data(operation) for operation in Operation.objects.select_related("skill")
    }
    return data.Catalogue(operations, _before(), _implies(), _alternatives())


def _before() -> dict[str, frozenset[str]]:
    pairs = Operation.before.through.objects.values_list("from_operation__code", "to_operation__code")
    return {code: frozenset(firsts) for code, firsts in _gathered(pairs).items()}


def _implies() -> dict[str, tuple[str, ...]]:
    pairs = Operation.implies.through.objects.order_by("to_operation__position", "to_operation__code").values_list(
        "from_operation__code", "to_operation__code"
    )
    return {code: tuple(implied) for code, implied in _gathered(pairs).items()}


def _alternatives() -> dict[str, tuple[str, ...]]:
    pairs = AlternativeGroup.operations.through.objects.order_by(
        "alternativegroup__code", "operation__position", "operation__code"
    ).values_list("alternativegroup__name", "operation__code")
    return {name: tuple(codes) for name, codes in _gathered(pairs).items()}


def _gathered(pairs: Iterable[tuple[str, str]]) -> dict[str, list[str]]:
    gathered: dict[str, list[str]] = {}
    for first, second in pairs:
        gathered.setdefault(first, []).append(second)
    return gathered


def operations_listed() -> QuerySet[Operation]:
    """Return the catalogue for the list of norms, with skills and the number of parts of each."""
    return Operation.objects.select_related("skill").annotate(parts_count=Count("parts"))


def operation_shown(code: str) -> Operation:
    """Return one operation with everything its page shows. Raises Operation.DoesNotExist."""
    return (
        Operation.objects.select_related("skill")
        .prefetch_related(
            "before",
            "followers",
            "implies",
            "implied_by",
            Prefetch("alternative_groups", AlternativeGroup.objects.prefetch_related("operations")),
            Prefetch("parts", OperationPart.objects.select_related("part", "part__supplier")),
        )
        .get(code=code)
    )


def areas() -> list[str]:
    """Return the areas of the catalogue, in its order."""
    found = Operation.objects.order_by("position", "code").values_list("area", flat=True)
    return list(dict.fromkeys(found))


def operations_by_code(codes: Iterable[str]) -> dict[str, Operation]:
    """Return the rows of these codes with their parts, for pricing."""
    held, wanted = _held.get(), set(codes)
    if held is None:
        return {row.code: row for row in _rows().filter(code__in=wanted)}
    if held.rows is None:
        held.rows = {row.code: row for row in _rows()}
    return {code: row for code, row in held.rows.items() if code in wanted}


def _rows() -> QuerySet[Operation]:
    parts = Prefetch("parts", OperationPart.objects.select_related("part"))
    return Operation.objects.select_related("skill").prefetch_related(parts)

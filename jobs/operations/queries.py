"""Questions about the catalogue of work."""

from collections.abc import Iterable

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


def catalogue() -> data.Catalogue:
    """Return all operations with their links, in the order of the catalogue.

    Four questions to the database, whatever the number of operations. It is read anew each time: ask once a
    request and hand it on, so that a changed norm is never hidden by something remembered.
    """
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
    rows = (
        Operation.objects.filter(code__in=list(codes))
        .select_related("skill")
        .prefetch_related(Prefetch("parts", OperationPart.objects.select_related("part")))
    )
    return {row.code: row for row in rows}

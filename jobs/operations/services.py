"""Changes of the catalogue of work: loading the reference data, and the workshop's own norms."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, TypeVar

from django.db import models, transaction

from jobs.operations.models import AlternativeGroup, Operation, OperationPart
from jobs.operations.norms import norm_change
from jobs.operations.queries import catalogue_forget
from jobs.operations.reference import OperationRow, Reference
from parts.catalogue.models import Part
from parts.scale.models import WireSize
from workshop.people.models import Skill

Row = TypeVar("Row", bound=models.Model)

__all__ = ["LoadCount", "norm_change", "reference_load", "row_write"]


@dataclass
class LoadCount:
    """What a load did: rows added, changed, left as they were, and kept because the workshop changed them."""

    added: int = 0
    changed: int = 0
    same: int = 0
    kept: int = 0

    def words(self) -> str:
        """Return the count in words."""
        return f"{self.added} added, {self.changed} changed, {self.same} as before, {self.kept} of your own kept"


@transaction.atomic
def reference_load(*, reference: Reference) -> LoadCount:
    """Write skills, operations with their links, parts and wire; all of it or nothing.

    Loading twice changes nothing. An operation this workshop edited keeps its own figures, and a part that is
    there keeps everything: price, supplier and lead time are the workshop's own. Nothing is taken away.
    Raises ValidationError when a row does not fit the database.
    """
    count = LoadCount()
    skills = {
        row.code: row_write(
            Skill, {"code": row.code}, {"name": row.name, "description": row.covers, "position": place}, count
        )
        for place, row in enumerate(reference.skills)
    }
    operations = {
        row.operation.code: row_write(
            Operation,
            {"code": row.operation.code},
            _operation_values(row, place, skills),
            count,
        )
        for place, row in enumerate(reference.operations)
    }
    _link(reference, operations)
    _parts(reference, operations, count)
    for wire in reference.wire:
        values = {
            "diameter_mm": decimal(wire.diameter_mm),
            "min_tensile_mpa": wire.min_tensile_mpa,
            "source": wire.source,
        }
        row_write(WireSize, {"gauge": wire.gauge, "size": wire.size}, values, count)
    catalogue_forget()
    return count


def decimal(number: float) -> Decimal:
    """Return a number of the reference data as it was written there."""
    return Decimal(repr(number))


def row_write(model: type[Row], key: Mapping[str, Any], values: Mapping[str, Any], count: LoadCount) -> Row:
    """Write one row of reference data unless it is the same already, or edited by this workshop.

    Raises ValidationError.
    """
    row = model._default_manager.filter(**key).first()
    if row is None:
        row = model(**key, **values)
        row.full_clean()
        row.save()
        count.added += 1
    elif getattr(row, "edited", False):
        count.kept += 1
    elif any(getattr(row, name) != value for name, value in values.items()):
        for name, value in values.items():
            setattr(row, name, value)
        row.full_clean()
        row.save(update_fields=list(values))
        count.changed += 1
    else:
        count.same += 1
    return row


def _operation_values(row: OperationRow, place: int, skills: Mapping[str, Skill]) -> dict[str, Any]:
    operation = row.operation
    return {
        "area": operation.area,
        "stage": row.stage,
        "position": place,
        "name": operation.name,
        "client_words": row.client_words,
        "applies_to": operation.kind,
        "unit": operation.unit,
        "usual_grand": decimal(operation.usual_grand),
        "usual_upright": decimal(operation.usual_upright),
        "in_passes": operation.repeats == "in turn",
        "hours_low": decimal(operation.hours_low),
        "hours_likely": decimal(operation.hours_likely),
        "hours_high": decimal(operation.hours_high),
        "upright_factor": decimal(operation.upright_factor),
        "skill": skills[operation.skill],
        "work_place": operation.place,
        "wait_hours": int(operation.wait_hours),
        "wait_reason": row.wait_reason,
        "span_days": operation.least_days,
        "cautions": row.cautions,
        "source": row.source,
    }


def _link(reference: Reference, operations: Mapping[str, Operation]) -> None:
    for code, operation in operations.items():
        operation.before.add(*(operations[first] for first in reference.before[code]))
        operation.implies.add(*(operations[other] for other in reference.implies[code]))
    for name, codes in reference.alternatives.items():
        group, _ = AlternativeGroup.objects.update_or_create(code=name.replace(" ", "-"), defaults={"name": name})
        group.operations.set([operations[code] for code in codes])


def _parts(reference: Reference, operations: Mapping[str, Operation], count: LoadCount) -> None:
    measured: dict[str, list[str]] = {}
    for need in reference.operation_parts:
        if need.measure_needed and need.measure_needed not in measured.setdefault(need.part, []):
            measured[need.part].append(need.measure_needed)
    known = set(Part.objects.values_list("code", flat=True))
    for row in reference.parts:
        if row.code in known:
            count.kept += 1
            continue
        values = {
            "name": row.name,
            "unit": row.unit,
            "kind": row.kind,
            "measure_needed": "; ".join(measured.get(row.code, []))[:200],
            "price": Decimal(row.price_pence) / 100,
            "lead_days": row.lead_days,
            "source": row.source,
        }
        row_write(Part, {"code": row.code}, values, count)
    parts = {part.code: part for part in Part.objects.all()}
    for need in reference.operation_parts:
        values = {"quantity": decimal(need.quantity), "per_unit": need.per_unit}
        key = {"operation": operations[need.operation], "part": parts[need.part], "applies_to": need.applies_to}
        row_write(OperationPart, key, values, count)

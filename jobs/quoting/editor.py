"""The scope editor's lines: operations by stage, alternatives together, with what is chosen and why the rest is in."""

from dataclasses import dataclass, field
from decimal import Decimal

from jobs.estimating.said import Asked, HoursSaid, hours_said
from jobs.estimating.services import Estimator, estimator
from jobs.operations.calc.catalogue import Catalogue, Operation
from jobs.operations.calc.quantities import usual_quantity
from jobs.operations.models import Operation as OperationRow
from jobs.operations.models import Stage
from jobs.quoting.choices import ScopeChoices
from jobs.quoting.models import Scope, ScopeOperation


@dataclass(frozen=True)
class Line:
    """One operation in the editor. ``state`` is chosen, implied, refused or "" (not in the scope).

    ``said``: what its hours rest on, of work that is in the scope.
    """

    code: str
    name: str
    unit: str
    usual: str
    hours: float
    picked: bool
    count: str
    reason: str
    state: str
    because: str
    error: str
    said: HoursSaid | None

    @property
    def may_refuse(self) -> bool:
        """Only what nobody chose and other work calls for can be left out with a reason."""
        return bool(self.state in ("implied", "refused") or self.reason)


@dataclass
class Block:
    """Lines that stand together: alternatives of one ``group`` (``name`` in the form), or single ones.

    A group may have lines in two stages, which are still one choice: ``first`` marks the block that offers none of
    them, ``nothing_picked`` looks at the whole group.
    """

    group: str = ""
    name: str = ""
    first: bool = True
    nothing_picked: bool = True
    lines: list[Line] = field(default_factory=list)


@dataclass
class StageBlocks:
    """One stage with its blocks; ``inside`` counts the operations in the scope, ``needed`` those nobody chose."""

    stage: str
    label: str
    blocks: list[Block] = field(default_factory=list)
    inside: int = 0
    needed: int = 0


def editor_stages(scope: Scope, cat: Catalogue, choices: ScopeChoices, stage_of: dict[str, str]) -> list[StageBlocks]:
    """Return the stages that have operations for this kind of instrument, in the order of work."""
    instrument = scope.quote.instrument
    rows = {row.operation.code: row for row in scope.operations.all()}
    estimate = estimator()
    stages = {stage.value: StageBlocks(stage.value, str(stage.label)) for stage in Stage}
    for code, operation in cat.operations.items():
        if not operation.fits(instrument.kind):
            continue
        stage = stages[stage_of[code]]
        usual = usual_quantity(operation, instrument.kind, len(instrument.compass))
        line = _line(operation, usual, instrument.kind, choices, rows.get(code), estimate)
        groups = cat.groups_of(code)
        _block(stage, groups[0] if groups else "").lines.append(line)
        stage.inside += line.state in ("chosen", "implied")
        stage.needed += line.state == "implied"
    shown = [stage for stage in stages.values() if stage.blocks]
    _join_groups(shown, cat, choices)
    return shown


def _join_groups(stages: list[StageBlocks], cat: Catalogue, choices: ScopeChoices) -> None:
    met: set[str] = set()
    places = {group: place for place, group in enumerate(cat.alternatives, start=1)}
    for block in (block for stage in stages for block in stage.blocks if block.group):
        block.name = f"group-{places[block.group]}"
        block.first = block.group not in met
        block.nothing_picked = not set(cat.alternatives[block.group]) & set(choices.picked)
        met.add(block.group)


def stages_of_codes() -> dict[str, str]:
    """Return the stage of each operation of the catalogue."""
    return dict(OperationRow.objects.values_list("code", "stage"))


def _block(stage: StageBlocks, group: str) -> Block:
    for block in stage.blocks if group else stage.blocks[-1:]:
        if block.group == group:
            return block
    stage.blocks.append(Block(group))
    return stage.blocks[-1]


def _line(
    operation: Operation,
    usual: float,
    kind: str,
    choices: ScopeChoices,
    row: ScopeOperation | None,
    estimate: Estimator,
) -> Line:
    code = operation.code
    count = row.quantity if row else Decimal(str(usual))
    hours = estimate.hours_for(operation=operation, quantity=count, kind=kind)
    inside = row is not None and row.because != ScopeOperation.Because.REFUSED
    implied = row is not None and row.because == ScopeOperation.Because.IMPLIED
    return Line(
        code=code,
        name=operation.title,
        unit=operation.unit,
        usual=f"{usual:g}",
        hours=round(hours.likely, 1),
        picked=code in choices.picked,
        count=choices.counts.get(code, ""),
        reason=choices.reasons.get(code, ""),
        state=row.because if row else "",
        because=row.reason if row is not None and implied else "",
        error=choices.errors.get(code, ""),
        said=hours_said([Asked(operation, count, kind, hours)], estimate)[0] if inside else None,
    )

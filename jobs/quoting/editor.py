"""The scope editor's lines: operations by stage, alternatives together, with what is chosen and why the rest is in."""

from dataclasses import dataclass, field

from jobs.estimating.services import hours_for
from jobs.operations.calc.catalogue import Catalogue, Operation
from jobs.operations.calc.quantities import usual_quantity
from jobs.operations.models import Operation as OperationRow
from jobs.operations.models import Stage
from jobs.quoting.choices import ScopeChoices
from jobs.quoting.models import Scope, ScopeOperation


@dataclass(frozen=True)
class Line:
    """One operation in the editor. ``state`` is chosen, implied, refused or "" (not in the scope)."""

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

    @property
    def may_refuse(self) -> bool:
        """Only what nobody chose and other work calls for can be left out with a reason."""
        return bool(self.state in ("implied", "refused") or self.reason)


@dataclass
class Block:
    """Lines that stand together: one group of alternatives (``group`` and its form ``name``), or single ones."""

    group: str = ""
    name: str = ""
    lines: list[Line] = field(default_factory=list)

    @property
    def nothing_picked(self) -> bool:
        """Tell whether none of the alternatives is picked."""
        return not any(line.picked for line in self.lines)


@dataclass
class StageBlocks:
    """One stage with its blocks; ``inside`` counts the operations that are in the scope."""

    stage: str
    label: str
    blocks: list[Block] = field(default_factory=list)
    inside: int = 0


def editor_stages(scope: Scope, cat: Catalogue, choices: ScopeChoices, stage_of: dict[str, str]) -> list[StageBlocks]:
    """Return the stages that have operations for this kind of instrument, in the order of work."""
    instrument = scope.quote.instrument
    rows = {row.operation.code: row for row in scope.operations.all()}
    stages = {stage.value: StageBlocks(stage.value, str(stage.label)) for stage in Stage}
    names = {group: f"group-{place}" for place, group in enumerate(cat.alternatives, start=1)}
    for code, operation in cat.operations.items():
        if not operation.fits(instrument.kind):
            continue
        stage = stages[stage_of[code]]
        usual = usual_quantity(operation, instrument.kind, len(instrument.compass))
        line = _line(operation, usual, instrument.kind, choices, rows.get(code))
        groups = cat.groups_of(code)
        _block(stage, groups[0] if groups else "", names).lines.append(line)
        stage.inside += line.state in ("chosen", "implied")
    return [stage for stage in stages.values() if stage.blocks]


def stages_of_codes() -> dict[str, str]:
    """Return the stage of each operation of the catalogue."""
    return dict(OperationRow.objects.values_list("code", "stage"))


def _block(stage: StageBlocks, group: str, names: dict[str, str]) -> Block:
    for block in stage.blocks if group else stage.blocks[-1:]:
        if block.group == group:
            return block
    stage.blocks.append(Block(group, names.get(group, "")))
    return stage.blocks[-1]


def _line(operation: Operation, usual: float, kind: str, choices: ScopeChoices, row: ScopeOperation | None) -> Line:
    code = operation.code
    hours = hours_for(operation=operation, quantity=row.quantity if row else usual, kind=kind)
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
    )

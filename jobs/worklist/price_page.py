"""What the page shows on which a variation is priced: the catalogue by stage, and what the chosen work drags along."""

from collections.abc import Iterable
from dataclasses import dataclass

from jobs.operations.models import Operation, Stage
from jobs.worklist.forms import PriceChoices
from jobs.worklist.models import Job, Task, Variation
from jobs.worklist.queries import codes_in, implied_by_variation


@dataclass(frozen=True)
class Line:
    """One operation of the catalogue: the count typed, what was said of leaving it out, and whether it is in the job.

    ``waiting``: it is in the job and not begun, so it can be left out. ``why`` it is proposed, if it is.
    """

    operation: Operation
    count: str
    out: str
    in_job: bool
    waiting: bool
    why: str = ""


@dataclass(frozen=True)
class StageOfWork:
    """The operations of one stage; open when something in it is chosen."""

    words: str
    lines: tuple[Line, ...]

    @property
    def chosen(self) -> int:
        """Return how many of its operations are added or left out."""
        return sum(bool(line.count or line.out) for line in self.lines)


def operations_for(job: Job) -> list[Operation]:
    """Return the catalogue for the kind of instrument of a job."""
    return list(Operation.objects.filter(applies_to__in=("both", job.instrument.kind)))


def stages_of_work(
    job: Job, operations: Iterable[Operation], choices: PriceChoices, without: Iterable[str]
) -> list[StageOfWork]:
    """Return the catalogue by stage with what was chosen, ``without`` what is shown above it as a proposal."""
    inside, above = codes_in(job), set(without)
    waiting = set(job.tasks.filter(state=Task.State.TO_COME).values_list("operation__code", flat=True))
    by_stage: dict[str, list[Line]] = {}
    for operation in operations:
        code = operation.code
        if code not in above:
            line = Line(
                operation,
                choices.counts.get(code, ""),
                choices.leaves.get(code, ""),
                code in inside,
                code in waiting,
            )
            by_stage.setdefault(operation.stage, []).append(line)
    return [StageOfWork(str(stage.label), tuple(by_stage[stage])) for stage in Stage if stage.value in by_stage]


def proposals(job: Job, operations: Iterable[Operation], choices: PriceChoices) -> list[Line]:
    """Return what the chosen work makes necessary and the job does not hold, each with its reason and usual count.

    What was looked at before stays in the list with the count that stands there now, so that an emptied count means no.
    """
    chosen = {code: count for code, count in choices.adds.items() if code not in choices.seen}
    rows = {operation.code: operation for operation in operations}
    found = []
    for one in implied_by_variation(job, chosen, choices.leaves):
        count = choices.counts.get(one.code, "") if one.code in choices.seen else f"{one.usual:g}"
        found.append(Line(rows[one.code], count, "", in_job=False, waiting=False, why=one.why))
    return found


def choices_kept(variation: Variation, operations: Iterable[Operation]) -> PriceChoices:
    """Return the choices as a variation holds them."""
    choices = PriceChoices(None, operations)
    for row in variation.operations.select_related("operation"):
        code = row.operation.code
        if row.adds:
            choices.adds[code] = row.quantity
            choices.counts[code] = f"{row.quantity.normalize():f}"
        else:
            choices.leaves[code] = "bought" if "parts are bought" in row.words else "out"
    return choices

"""What logged hours say: of each norm, and of how often figures held. No question grows with the number of rows."""

import datetime as dt
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import median

from jobs.estimating.calc.evidence import Holding, Proposal, holding, norm_proposal
from jobs.estimating.calc.task_hours import TaskHours
from jobs.estimating.estimator import Estimator, estimator, log_as_data
from jobs.estimating.models import HoursLog, NormDecision, QuoteOutcome
from jobs.estimating.picture import Dot, Picture, SmallPicture, pictures_of, small_picture
from jobs.estimating.services import hours_sentence
from jobs.operations.models import NormVersion, Operation
from workshop.calendar.words import day_words_year
from workshop.people.models import Person

LAST_TASKS, LAST_QUOTES = 300, 60
ASK_AGAIN_AFTER = 5  # more logs after a norm was kept, before it is proposed again
TREND_NEEDS = 8


@dataclass(frozen=True)
class LogLine:
    """One log on the page of a norm: hours as logged and for one unit, what was said, and why it stands apart."""

    row: HoursLog
    unit_hours: float
    doubted: bool


@dataclass(frozen=True)
class NormEvidence:
    """All that hours say about one norm."""

    operation: Operation
    hours: TaskHours
    sentence: str
    pictures: tuple[Picture, Picture]
    lines: tuple[LogLine, ...]
    proposal: Proposal | None
    trend: str
    decisions: tuple[NormDecision, ...]
    versions: tuple[NormVersion, ...]

    @property
    def doubted(self) -> list[LogLine]:
        """Logs that lie so far off that somebody should look at them."""
        return [line for line in self.lines if line.doubted]


def norm_evidence(operation: Operation, today: dt.date | None = None) -> NormEvidence:
    """Return what was logged of an operation and what follows from it, in hours of one unit on a grand."""
    given = estimator(today)
    norm = float(operation.hours_likely)
    rows = list(operation.logs.select_related("technician", "operation").order_by("-finished_on", "-pk"))
    doubted = {one.ident for one in given.learner.suspects(given.today, operation.code)}
    lines = tuple(LogLine(row, norm * _ratio(row), row.pk in doubted) for row in rows)
    hours = given.learned(code=operation.code, norm=norm)
    decisions = tuple(operation.norm_decisions.select_related("by"))
    return NormEvidence(
        operation=operation,
        hours=hours,
        sentence=hours_sentence(hours),
        pictures=pictures_of(
            [_dot(line) for line in reversed(lines)], norm=norm, likely=hours.likely, figure_80=hours.figure_80
        ),
        lines=lines,
        proposal=_proposal(operation, given, [_ratio(row) for row in rows if row.counts], decisions),
        trend=_trend([line.unit_hours for line in reversed(lines) if line.row.counts]),
        decisions=decisions,
        versions=tuple(operation.norm_versions.select_related("by")),
    )


@dataclass(frozen=True)
class NormLine:
    """One norm in the list: what was logged, what to expect, and what the logs propose."""

    operation: Operation
    logs: int
    hours: TaskHours
    proposal: Proposal | None
    picture: SmallPicture


def norms_learned(today: dt.date | None = None) -> list[NormLine]:
    """Return every operation with logs, those with a proposal first, then in the order of the catalogue."""
    given = estimator(today)
    ratios: dict[int, list[float]] = {}
    for row in HoursLog.objects.select_related("operation").order_by("finished_on", "pk"):
        if row.counts:
            ratios.setdefault(row.operation_id, []).append(_ratio(row))
    decisions: dict[int, list[NormDecision]] = {}
    for one in NormDecision.objects.all():
        decisions.setdefault(one.operation_id, []).append(one)
    lines = []
    for operation in Operation.objects.filter(pk__in=ratios):
        found = ratios[operation.pk]
        hours = given.learned(code=operation.code, norm=float(operation.hours_likely))
        proposal = _proposal(operation, given, found, decisions.get(operation.pk, []))
        unit = [ratio * hours.norm for ratio in found]
        picture = small_picture(unit, norm=hours.norm, likely=hours.likely, figure_80=hours.figure_80)
        lines.append(NormLine(operation, len(found), hours, proposal, picture))
    return sorted(lines, key=lambda line: (line.proposal is None, line.operation.position))


@dataclass(frozen=True)
class HeldLine:
    """How often figures held for one kind of work or one person."""

    name: str
    holding: Holding


@dataclass(frozen=True)
class Held:
    """How often the 8-in-10 figures held: of tasks, of quotes, by kind of work, by technician."""

    tasks: Holding
    quotes: Holding
    by_area: tuple[HeldLine, ...]
    by_person: tuple[HeldLine, ...]
    last_quotes: tuple[QuoteOutcome, ...]

    @property
    def doubted(self) -> list[HeldLine]:
        """What stands outside of where 8 in 10 is believed: quotes and tasks as wholes first, then kinds and people."""
        whole = (HeldLine("quotes", self.quotes), HeldLine("tasks", self.tasks))
        return [line for line in (*whole, *self.by_area, *self.by_person) if line.holding.doubted]


def figures_held(person: Person | None = None) -> Held:
    """Return how good the figures were of the last finished tasks and quotes; of one person's tasks where given."""
    logs = HoursLog.objects.filter(source=HoursLog.Source.TASK, first_time=False, left_out_because="")
    if person is not None:
        logs = logs.filter(technician=person)
    rows = list(logs.select_related("operation", "technician").order_by("-finished_on", "-pk")[:LAST_TASKS])
    quotes = [] if person is not None else list(QuoteOutcome.objects.all()[:LAST_QUOTES])
    return Held(
        tasks=holding([_case(row) for row in rows]),
        quotes=holding([(float(one.hours), float(one.likely), float(one.figure_80)) for one in quotes]),
        by_area=_grouped((row.operation.area, row) for row in rows),
        by_person=() if person is not None else _grouped((str(row.technician), row) for row in rows if row.technician),
        last_quotes=tuple(quotes[:12]),
    )


def _grouped(rows: Iterable[tuple[str, HoursLog]]) -> tuple[HeldLine, ...]:
    found: dict[str, list[tuple[float, float, float]]] = {}
    for name, row in rows:
        found.setdefault(name, []).append(_case(row))
    return tuple(HeldLine(name, holding(cases)) for name, cases in sorted(found.items()))


def _case(row: HoursLog) -> tuple[float, float, float]:
    return float(row.hours), float(row.said_likely), float(row.said_80)


def _ratio(row: HoursLog) -> float:
    return math.exp(log_as_data(row).outcome)


def _proposal(
    operation: Operation, given: Estimator, ratios: Sequence[float], decisions: Sequence[NormDecision]
) -> Proposal | None:
    kept = max((one.logs for one in decisions if one.decided == NormDecision.Decided.KEPT), default=None)
    if kept is not None and len(ratios) < kept + ASK_AGAIN_AFTER:
        return None
    norm = float(operation.hours_likely)
    found = given.learner.forecast(norm=norm, today=given.today, marks={"kind": operation.code})
    low, likely, high = (found.figure(confidence) for confidence in (0.1, 0.5, 0.9))
    return norm_proposal(norm=norm, low=low, likely=likely, high=high, ratios=ratios)


def _dot(line: LogLine) -> Dot:
    row = line.row
    look = "apart" if not row.counts else "doubt" if line.doubted else ""
    day = day_words_year(row.finished_on)
    return Dot(line.unit_hours, day, f"{day}: {line.unit_hours:.1f} h", look)


def _trend(hours: Sequence[float]) -> str:
    """Return how the newer half compares with the older; hours of one unit, oldest first."""
    if len(hours) < TREND_NEEDS:
        return ""
    half = len(hours) // 2
    before, lately = median(hours[:half]), median(hours[half:])
    change = lately / before - 1
    if abs(change) < 0.05:
        return f"The newer half lies where the older lay: about {lately:.1f} h."
    way = "less" if change < 0 else "more"
    return f"The newer half takes {way} than the older: in the middle {lately:.1f} h, before {before:.1f} h."

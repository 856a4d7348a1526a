"""Forecasts from files: past tasks and quotes of any shop in, hours of new ones out, by the same learner.

A folder holds ``history.csv`` (finished tasks: task_id, kind, worker, job, project, end, est_h, act_h), ``ask.csv``
(tasks to forecast), ``quotes.csv`` (quote_id, type, task_id), ``past_quotes.csv`` (what was said for finished quotes,
with ``mean``, ``spread`` and ``actual_h``) and ``origin.txt`` (the day on which all this is known). ``out.csv`` gets
id, q10, q50, q80, q90 in hours, and for quotes the mean and spread that calibrate later ones.

What says nothing is left out, and counted: a finished task without hours or without a norm, a past quote without its
figures of then or without its hours. What says something that cannot be is refused, and nothing is written.
"""

import csv
import datetime as dt
import io
import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from jobs.estimating.calc.bundle import Calibration, bundle_hours
from jobs.estimating.calc.learner import Constants, Learner, Log
from jobs.estimating.calc.task_hours import TaskHours

CONFIDENCES = (0.1, 0.5, 0.8, 0.9)
COLUMNS = ("id", "q10", "q50", "q80", "q90", "mean", "spread")
MARKS = ("kind", "technician", "job", "project")

Row = Mapping[str, str]


class FilesRefused(ValueError):
    """A file is missing, or a row of it cannot be read."""


@dataclass(frozen=True)
class Written:
    """How many rows ``out.csv`` got, and which rows of the other files were left out, as "history.csv, row 7"."""

    rows: int
    left_out: tuple[str, ...]


def forecast_write(folder: Path, constants: Constants, calibration: Calibration) -> Written:
    """Read the folder, forecast, write ``out.csv``. Raises FilesRefused, writing nothing."""
    left_out: list[str] = []
    origin = _day(_text(folder / "origin.txt"), "origin.txt")
    history = _rows(folder / "history.csv", need=("kind", "worker", "end", "est_h", "act_h"))
    learner = Learner(constants, _logs(history, left_out))
    rows: list[list[str]] = []
    tasks: dict[str, TaskHours] = {}
    for number, row in enumerate(_rows(folder / "ask.csv", need=("task_id", "kind", "worker", "est_h")), start=2):
        norm = _hours(row, "est_h", f"ask.csv, row {number}")
        forecast = learner.forecast(norm=norm, today=origin, marks=_marks(row))
        figures = [forecast.figure(confidence) for confidence in CONFIDENCES]
        tasks[row["task_id"]] = TaskHours(norm, figures[1], figures[2])
        rows.append([row["task_id"], *(f"{figure:.6g}" for figure in figures), "", ""])
    finished = _finished(folder / "past_quotes.csv", left_out)
    for quote, codes in _quotes(folder / "quotes.csv").items():
        missing = next((code for code in codes if code not in tasks), None)
        if missing:
            raise FilesRefused(f"quotes.csv: quote {quote} names task {missing}, which ask.csv does not hold.")
        bundle = bundle_hours((tasks[code] for code in codes), finished=finished, calibration=calibration)
        figures = [bundle.figure(confidence) for confidence in CONFIDENCES]
        rows.append([quote, *(f"{figure:.6g}" for figure in figures), f"{bundle.mean:.8g}", f"{bundle.spread:.8g}"])
    with (folder / "out.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(COLUMNS)
        writer.writerows(rows)
    return Written(len(rows), tuple(left_out))


def _logs(rows: Iterable[Row], left_out: list[str]) -> Iterator[Log]:
    for number, row in enumerate(rows, start=2):
        where = f"history.csv, row {number}"
        if _nothing(row, "est_h") or _nothing(row, "act_h"):
            left_out.append(where)  # closed without hours, or never estimated: it has no outcome
            continue
        marks = _marks(row)
        yield Log(
            ident=number,
            kind=marks["kind"],
            technician=marks["technician"],
            norm=_hours(row, "est_h", where),
            hours=_hours(row, "act_h", where),
            day=_day(row["end"], where),
            first_time=row.get("first_time", "") in ("1", "yes", "true"),
            marks=marks,
        )


def _marks(row: Row) -> dict[str, str]:
    return {name: (row.get("worker" if name == "technician" else name) or "").strip() for name in MARKS}


def _finished(path: Path, left_out: list[str]) -> list[float]:
    """Return how finished quotes turned out, ``ln(measured / mean) / spread``, the last to be done last.

    Without a day in ``done`` the order of the file stands.
    """
    outcomes = []
    for number, row in enumerate(_rows(path, need=("actual_h",), may_lack=True), start=2):
        where = f"{path.name}, row {number}"
        if any(_nothing(row, name) for name in ("actual_h", "mean", "spread")):
            left_out.append(where)  # not said by this command, or not measured
            continue
        actual, mean, spread = (_hours(row, name, where) for name in ("actual_h", "mean", "spread"))
        done = _day(row["done"], where) if row.get("done") else 0
        outcomes.append((done, math.log(actual / mean) / spread))
    return [outcome for _, outcome in sorted(outcomes, key=lambda one: one[0])]


def _quotes(path: Path) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for row in _rows(path, need=("quote_id", "task_id"), may_lack=True):
        found.setdefault(row["quote_id"], []).append(row["task_id"])
    return found


def _rows(path: Path, need: tuple[str, ...], *, may_lack: bool = False) -> list[Row]:
    """Return the rows of a file. One that holds none needs no columns; one that may lack need not be there."""
    if may_lack and not path.exists():
        return []
    reader = csv.DictReader(io.StringIO(_text(path), newline=""))
    try:
        rows: list[Row] = [dict(row) for row in reader]
    except csv.Error as error:
        raise FilesRefused(f"{path.name}, line {reader.line_num} cannot be read: {error}") from error
    lacking = [name for name in need if name not in (reader.fieldnames or ())]
    if lacking and rows:
        raise FilesRefused(f"{path.name} lacks the column {lacking[0]}.")
    return rows


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig").strip()
    except (OSError, UnicodeDecodeError) as error:
        raise FilesRefused(f"{path.name} cannot be read: {error}") from error


def _day(text: str | None, where: str) -> int:
    try:
        return dt.date.fromisoformat((text or "").strip()).toordinal()
    except ValueError as error:
        raise FilesRefused(f"{where}: “{text or ''}” is no day; write it as 2026-03-12.") from error


def _nothing(row: Row, name: str) -> bool:
    """Return whether a cell holds no hours: blank, or nought in any writing."""
    text = (row.get(name) or "").strip()
    return not text or text.strip("0") in ("", ".")


def _hours(row: Row, name: str, where: str) -> float:
    try:
        hours = float(row[name])
    except (TypeError, ValueError):
        hours = math.nan
    if not (hours > 0 and math.isfinite(hours)):
        raise FilesRefused(f"{where}: “{row.get(name)}” in {name} is no number of hours above nought.")
    return hours

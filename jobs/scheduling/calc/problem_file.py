"""Reads and writes the exchange format of a planning problem (JSON, described in DEVELOPERS.md)."""

import json
from collections.abc import Mapping
from datetime import date, datetime, time
from typing import Any

from jobs.scheduling.calc.problem import (
    Fixed,
    Job,
    Operation,
    Places,
    Previous,
    Problem,
    Stint,
    Technician,
)

CLOCK = "%Y-%m-%dT%H:%M"


class UnreadableFile(ValueError):
    """The text is not a problem or solution of this format; the message says where and what."""


def problem_read(text: str) -> Problem:
    """The problem written in ``text``. Raises UnreadableFile naming the entry that cannot be read."""
    try:
        data = json.loads(text)
    except ValueError as error:
        raise UnreadableFile(f"This is not JSON: {error}.") from error
    if not isinstance(data, dict):
        raise UnreadableFile("A planning problem is one JSON object; this is something else.")
    return problem_from(data)


def problem_write(problem: Problem) -> str:
    """The problem as JSON text."""
    return json.dumps(problem_data(problem), indent=1, ensure_ascii=False)


def problem_from(data: Mapping[str, Any]) -> Problem:
    """The problem from decoded JSON. Raises UnreadableFile naming the entry that cannot be read."""
    where = "the heading"
    try:
        opens, closes = (time.fromisoformat(clock) for clock in data["day"])
        technicians, jobs, operations, previous = [], [], [], {}
        for entry in data["technicians"]:
            where = f"technician {entry.get('id', '?')}"
            technicians.append(_technician(entry))
        for entry in data["jobs"]:
            where = f"job {entry.get('id', '?')}"
            jobs.append(_job(entry))
        for entry in data["operations"]:
            where = f"operation {entry.get('id', '?')}"
            operations.append(_operation(entry))
        for key, entry in (data.get("previous") or {}).items():
            where = f"the previous plan of {key}"
            previous[key] = Previous(entry["technician"], stints_from(entry["stints"]))
        where = "the heading"
        return Problem(
            name=data["name"],
            start=date.fromisoformat(data["start"]),
            opens=opens,
            closes=closes,
            technicians=tuple(technicians),
            places=Places(**{kind: int(data["places"].get(kind, 0)) for kind in ("floor", "bench", "spray")}),
            jobs=tuple(jobs),
            operations=tuple(operations),
            slot_minutes=int(data["slot_minutes"]),
            workdays=tuple(data["workdays"]),
            holidays=tuple(date.fromisoformat(day) for day in data["holidays"]),
            now=datetime.fromisoformat(data["now"]) if data.get("now") else None,
            previous=previous,
        )
    except KeyError as error:
        raise UnreadableFile(f"In {where} the entry {error} is missing.") from error
    except (TypeError, ValueError, AttributeError) as error:
        raise UnreadableFile(f"In {where}: {error}.") from error


def stints_from(pairs: list[list[str]]) -> tuple[Stint, ...]:
    """Stints from ``[["2027-01-04T08:00", "2027-01-04T12:00"], ...]``. Raises ValueError or TypeError."""
    return tuple(Stint(datetime.fromisoformat(start), datetime.fromisoformat(end)) for start, end in pairs)


def stints_data(stints: tuple[Stint, ...]) -> list[list[str]]:
    """Stints as pairs of clock texts."""
    return [[f"{stint.start:{CLOCK}}", f"{stint.end:{CLOCK}}"] for stint in stints]


def _technician(entry: Mapping[str, Any]) -> Technician:
    leave = tuple((date.fromisoformat(first), date.fromisoformat(last)) for first, last in entry["leave"])
    return Technician(entry["id"], tuple(entry["skills"]), tuple(entry["workdays"]), leave)


def _job(entry: Mapping[str, Any]) -> Job:
    due = date.fromisoformat(entry["due"]) if entry.get("due") else None
    return Job(entry["id"], entry["weight"], due, bool(entry.get("in_house", False)))


def _operation(entry: Mapping[str, Any]) -> Operation:
    fixed = entry.get("fixed")
    return Operation(
        id=entry["id"],
        job=entry["job"],
        hours=float(entry["hours"]),
        skill=entry["skill"],
        place=entry.get("place"),
        after=tuple(entry.get("after", ())),
        wait_hours=float(entry.get("wait_hours", 0)),
        sessions=int(entry.get("sessions", 1)),
        not_before=date.fromisoformat(entry["not_before"]) if entry.get("not_before") else None,
        fixed=Fixed(fixed["technician"], datetime.fromisoformat(fixed["start"])) if fixed else None,
    )


def _number(value: float) -> float | int:
    return int(value) if float(value).is_integer() else value


def problem_data(problem: Problem) -> dict[str, Any]:
    """The problem as plain lists and dictionaries, ready for JSON."""
    data: dict[str, Any] = {
        "name": problem.name,
        "start": problem.start.isoformat(),
        "slot_minutes": problem.slot_minutes,
        "day": [f"{problem.opens:%H:%M}", f"{problem.closes:%H:%M}"],
        "workdays": list(problem.workdays),
        "holidays": [day.isoformat() for day in problem.holidays],
        "technicians": [_technician_data(technician) for technician in problem.technicians],
        "places": {
            "floor": problem.places.floor,
            "bench": problem.places.bench,
            "spray": problem.places.spray,
        },
        "jobs": [_job_data(job) for job in problem.jobs],
        "operations": [_operation_data(operation) for operation in problem.operations],
    }
    if problem.now is not None:
        data["now"] = f"{problem.now:{CLOCK}}"
    if problem.previous:
        data["previous"] = {
            key: {"technician": previous.technician, "stints": stints_data(previous.stints)}
            for key, previous in problem.previous.items()
        }
    return data


def _technician_data(technician: Technician) -> dict[str, Any]:
    return {
        "id": technician.id,
        "skills": list(technician.skills),
        "workdays": list(technician.workdays),
        "leave": [[first.isoformat(), last.isoformat()] for first, last in technician.leave],
    }


def _job_data(job: Job) -> dict[str, Any]:
    due = job.due.isoformat() if job.due else None
    return {"id": job.id, "weight": _number(job.weight), "due": due, "in_house": job.in_house}


def _operation_data(operation: Operation) -> dict[str, Any]:
    fixed = operation.fixed
    return {
        "id": operation.id,
        "job": operation.job,
        "hours": _number(operation.hours),
        "skill": operation.skill,
        "place": operation.place,
        "after": list(operation.after),
        "wait_hours": _number(operation.wait_hours),
        "sessions": operation.sessions,
        "not_before": operation.not_before.isoformat() if operation.not_before else None,
        "fixed": {"technician": fixed.technician, "start": f"{fixed.start:{CLOCK}}"} if fixed else None,
    }

"""Work already done: tasks closed in order with hours logged by people who have the skill."""

import datetime as dt
import math
import random
from collections import defaultdict
from collections.abc import Iterable, Mapping

from jobs.demo.diary import Diary
from jobs.demo.moments import Moments
from jobs.hours.models import TimeEntry
from jobs.worklist.models import Job, Task
from workshop.people.models import Person

# How far this shop's real hours lie from the norm: some norms are wrong, some people are quicker. Invented.
TRUE_FACTOR = {"ky-bush": 1.22, "cs-french": 1.15, "rg-fine": 1.1, "ac-hang": 0.92, "tn-settle": 0.9, "cs-revive": 1.3}
PERSON_FACTOR = {"Bram": 1.02, "Corin": 0.93, "Dilys": 1.05, "Edda": 0.97, "Fintan": 1.12}
SPREAD = 0.22  # of one task, natural logarithm
SHARED_SPREAD = 0.13  # of all tasks of one job


class Bench:
    """People at work in the past: hands out tasks and writes entries, one row of days a person."""

    def __init__(self, people: Iterable[Person], diary: Diary, moments: Moments, rng: random.Random) -> None:
        self.diary, self.moments, self.rng = diary, moments, rng
        self.by_skill: dict[str, list[Person]] = {}
        for person in people:
            if person.on_the_bench:
                for skill in person.skills.all():
                    self.by_skill.setdefault(skill.code, []).append(person)
        self.load: dict[int, int] = defaultdict(int)
        self.entries: list[TimeEntry] = []
        self.tasks: list[Task] = []

    def work(
        self, tasks: list[Task], from_day: dt.date, *, before: Mapping[int, list[int]], pace: float | None = None
    ) -> dt.date:
        """Do some tasks in order from a day on; return the day the last of them was done.

        ``before``: task -> tasks that come first. A task that does not fit before today stays at work. ``pace`` is
        what the tasks share; without it, it is drawn.
        """
        drawn = math.exp(self.rng.gauss(0, SHARED_SPREAD))
        shared = drawn if pace is None else pace
        free: dict[int, dt.date] = {}
        last = from_day
        for task in tasks:
            start = max([from_day, *(free[first] for first in before.get(task.pk, []) if first in free)])
            done = self._one(task, start, shared)
            free[task.pk] = done + dt.timedelta(days=math.ceil(task.wait_hours / 24))
            last = max(last, done)
        return last

    def _one(self, task: Task, start: dt.date, shared: float) -> dt.date:
        person = self._person(task)
        factor = TRUE_FACTOR.get(task.operation.code, 1.0) * PERSON_FACTOR.get(person.first_name, 1.0) * shared
        hours = float(task.norm_hours) * factor * math.exp(self.rng.gauss(0, SPREAD))
        minutes = max(5, 5 * round(hours * 12))
        self.load[person.pk] += minutes
        left, day = minutes, start
        for day, begun, piece in self.diary.pieces(person, minutes, start):
            left -= piece
            self.entries.append(self._entry(task, person, day, begun, piece))
        if left == minutes:
            return day  # nobody had time before today: it is still to come
        task.started_at = self.moments.on(start, 8)
        if left > 0:
            task.state = Task.State.AT_WORK
        else:
            task.state = Task.State.DONE
            task.done_at = self.moments.on(day, 15, 30)
            task.done_by = person
        self.tasks.append(task)
        return day

    def _person(self, task: Task) -> Person:
        """Return who of the able has had least to do, mostly."""
        able = self.by_skill[task.skill.code]
        least = min(able, key=lambda person: (self.load[person.pk] / len(person.workdays), person.pk))
        return least if self.rng.random() < 0.9 else self.rng.choice(able)

    def _entry(self, task: Task, person: Person, day: dt.date, begun: int, minutes: int) -> TimeEntry:
        started = self.moments.on(day, 8) + dt.timedelta(minutes=begun)
        return TimeEntry(
            task=task,
            person=person,
            on=day,
            started_at=started,
            stopped_at=started + dt.timedelta(minutes=minutes),
            minutes=minutes,
            kept_at=started + dt.timedelta(minutes=minutes),
        )

    def write(self) -> None:
        """Write everything handed out since the last time."""
        TimeEntry.objects.bulk_create(self.entries)
        Task.objects.bulk_update(self.tasks, ["state", "started_at", "done_at", "done_by"], batch_size=200)
        self.entries, self.tasks = [], []


def tasks_in_order(job: Job) -> list[Task]:
    """Return the tasks of a job in working order that are not done yet."""
    rows = job.tasks.filter(state=Task.State.TO_COME).select_related("operation", "skill", "job")
    return list(rows.order_by("position", "pass_number", "pk"))


def before_of(tasks: list[Task]) -> dict[int, list[int]]:
    """Return task -> tasks immediately before it."""
    links = Task.after.through.objects.filter(from_task__in=tasks).values_list("from_task", "to_task")
    found: dict[int, list[int]] = {}
    for task, first in links:
        found.setdefault(task, []).append(first)
    return found

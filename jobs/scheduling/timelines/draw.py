"""The two drawings of the plan: by person and by instrument."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence

from django.urls import reverse
from django.utils.safestring import SafeString

from jobs.scheduling.timelines.blocks import STATES, JobRow, Run
from jobs.scheduling.timelines.dates import band, promise_words
from workshop.calendar.words import day_words
from workshop.house.models import Shop
from workshop.people.models import Person
from workshop.web import timeline
from workshop.web.timeline import Arrival, Away, Bar, Lane, Promise, Span, Wait


def short(name: str, most: int = 40) -> str:
    """Return a task's name as a bar carries it: up to its first stop, cut at a whole word."""
    first = name.split(":")[0].split(",")[0].split("(")[0].strip()
    return first if len(first) <= most else first[:most].rsplit(" ", 1)[0]


def bar_of(run: Run, lane: str, *, with_people: bool) -> Bar:
    """Return the bar of a run; it leads to the task, or to the instrument when there are several.

    On a bar of one or two days other instruments are counted ("+2"); its title names them.
    """
    number = str(run.job.instrument.number)
    blocks = list(run.blocks.values())
    names = list(dict.fromkeys(short(block.task.name, 24) for block in blocks))
    text = ", ".join(names[:2]) + (f" and {len(names) - 2} more" if len(names) > 2 else "")
    if run.others and (run.ends.date() - run.starts.date()).days < 2:
        text = f"+{len(run.other_numbers)}"
    full = "; ".join(f"{one.task.name} ({one.person})" if with_people else one.task.name for one in blocks)
    beside = f"; also {', '.join(map(str, run.other_numbers))}" if run.others else ""
    first, last = day_words(run.starts.date()), day_words(run.ends.date())
    when = first if first == last else f"{first} to {last}"
    one = len(blocks) == 1
    address = reverse("plan-task", args=[blocks[0].task.pk]) if one else reverse("desk-instrument", args=[number])
    title = f"{number} {full}{beside}, {when}, {STATES[run.state]}"
    return Bar(lane, run.starts, run.ends, text, number=number, state=run.state, href=address, title=title)


def draw_people(
    span: Span, people: Sequence[Person], runs: Mapping[int, Iterable[Run]], closed: Sequence[Away], shop: Shop
) -> SafeString:
    """Return who does what: one lane a person, hatched where they are away."""
    lanes, bars, away = [], [], list(closed)
    weeks = {day - dt.timedelta(days=day.weekday()) for day in span.days}
    names = lane_names(people)
    for person in people:
        name = names[person.pk]
        lanes.append(Lane(name, ", ".join(str(skill) for skill in person.skills.all())))
        bars += [bar_of(run, name, with_people=False) for run in runs.get(person.pk, ())]
        away += [Away(name, leave.first_day, leave.last_day, leave.reason) for leave in person.leaves.all()]
        for day in set(shop.workdays) - set(person.workdays):
            days = (monday + dt.timedelta(days=day) for monday in weeks)
            away += [Away(name, off, off, "not in") for off in days]
    return timeline.draw_people(span, lanes, bars, away, title="Plan by person")


def lane_names(people: Sequence[Person]) -> dict[int, str]:
    """Return what each person's lane is called; two of one name are told apart by how they sign in."""
    names = [str(person) for person in people]
    return {
        person.pk: name if names.count(name) == 1 else f"{name} ({person.username})"
        for person, name in zip(people, names, strict=True)
    }


def draw_instruments(
    span: Span,
    rows: Iterable[JobRow],
    runs: Mapping[int, Iterable[Run]],
    waits: Sequence[Wait],
    arrivals: Sequence[Arrival],
    closed: Sequence[Away],
) -> SafeString:
    """Return what happens to each instrument: work and waits above, arrivals and promise below."""
    lanes, bars, promises = [], [], []
    for row in rows:
        own = list(runs.get(row.job.pk, ()))
        if row.end is None and not own:
            continue
        instrument = row.job.instrument
        name = str(instrument.number)
        url = reverse("desk-instrument", args=[instrument.number])
        lanes.append(Lane(name, f"{instrument.maker} {instrument.kind}".strip(), url))
        bars += [bar_of(run, name, with_people=True) for run in own]
        if row.promise is not None:
            words = f"{promise_words(row.promise, row.end)}{', late' if row.days_late else ''}"
            low, high = band(row.end) or (None, None)
            promises.append(Promise(name, row.promise.date, low, high, words, bool(row.days_late)))
    return timeline.draw_instruments(span, lanes, bars, waits, arrivals, promises, closed, title="Plan by instrument")

"""Small shops for the planning tests: plain functions with sensible defaults, and a hypothesis strategy."""

from datetime import date, datetime, time, timedelta

from hypothesis import strategies as st

from jobs.scheduling.calc.problem import Job, Operation, Places, Problem, Stint, Technician
from jobs.scheduling.calc.solution import Work

MONDAY = date(2027, 1, 4)
SKILLS = ("action", "string", "finish")


def at(day, clock="08:00"):
    """A moment in the week of Monday 4 January 2027: ``at(0, "10:30")``; later weeks by 7, 8 ..."""
    return datetime.combine(MONDAY + timedelta(days=day), time.fromisoformat(clock))


def stint(day, start, end):
    return Stint(at(day, start), at(day, end))


def work(technician, *stints):
    return Work(technician, tuple(stint(*one) for one in stints))


def operation(key, hours=2.0, skill="action", **more):
    return Operation(key, more.pop("job", key.split(".")[0]), hours, skill, **more)


def technician(key="bram", skills=SKILLS, **more):
    return Technician(key, tuple(skills), **more)


def shop(operations, *, technicians=None, places=None, jobs=None, **more):
    """A shop open 8 to 16 on weekdays; jobs are taken from the operations unless given."""
    keys = dict.fromkeys(one.job for one in operations)
    return Problem(
        name="test",
        start=more.pop("start", MONDAY),
        opens=more.pop("opens", time(8)),
        closes=more.pop("closes", time(16)),
        technicians=tuple(technicians or (technician("bram"), technician("corin"))),
        places=places or Places(floor=4, bench=2, spray=1),
        jobs=tuple(jobs or (Job(key, 1, date(2027, 3, 1)) for key in keys)),
        operations=tuple(operations),
        **more,
    )


@st.composite
def technicians(draw):
    """One to three people who together have every skill; part-time patterns and leave."""
    people = []
    for name in ("bram", "corin", "dilys")[: draw(st.integers(1, 3))]:
        skills = SKILLS if not people else tuple(sorted(draw(st.sets(st.sampled_from(SKILLS), min_size=1))))
        days = tuple(sorted(draw(st.sets(st.integers(0, 4), min_size=1))))
        leave = []
        for first in draw(st.lists(st.integers(0, 40), max_size=2)):
            last = first + draw(st.integers(0, 9))
            leave.append((MONDAY + timedelta(days=first), MONDAY + timedelta(days=last)))
        people.append(Technician(name, skills, days, tuple(leave)))
    return tuple(people)


@st.composite
def operations(draw, job, slot, day_slots):
    """One to five operations of a job, each after some of the earlier ones."""
    found = []
    for number in range(draw(st.integers(1, 5))):
        sessions = draw(st.sampled_from((1, 1, 1, 2, 3)))
        most = 3 * day_slots if sessions == 1 else sessions * day_slots
        slots = draw(st.integers(sessions, most))
        parts = draw(st.none() | st.integers(0, 20))
        found.append(
            Operation(
                id=f"{job}.{number}",
                job=job,
                hours=slots * slot / 60,
                skill=draw(st.sampled_from(SKILLS)),
                place=draw(st.sampled_from((None, "floor", "bench", "spray"))),
                after=tuple(sorted(draw(st.sets(st.sampled_from([one.id for one in found]), max_size=2))))
                if found
                else (),
                wait_hours=draw(st.sampled_from((0, 0, 0.5, 12, 48, 100))),
                sessions=sessions,
                not_before=None if parts is None else MONDAY + timedelta(days=parts),
            )
        )
    return found


@st.composite
def shops(draw):
    """A random small shop that ``validate`` finds sound."""
    slot = draw(st.sampled_from((15, 30, 60)))
    opens, closes = draw(st.sampled_from(((time(8), time(16)), (time(9), time(12)), (time(7, 30), time(17)))))
    day_slots = ((closes.hour - opens.hour) * 60 + closes.minute - opens.minute) // slot
    minutes = day_slots * slot
    closes = (datetime.combine(MONDAY, opens) + timedelta(minutes=minutes)).time()
    floor = draw(st.integers(1, 3))
    jobs, tasks, inside = [], [], 0
    for number in range(draw(st.integers(1, 4))):
        in_house = inside < floor and draw(st.booleans())
        inside += in_house
        due = draw(st.none() | st.integers(0, 40))
        due = None if due is None else MONDAY + timedelta(days=due)
        jobs.append(Job(f"j{number}", draw(st.integers(1, 5)), due, in_house))
        tasks += draw(operations(f"j{number}", slot, day_slots))
    return Problem(
        name="random",
        start=MONDAY,
        opens=opens,
        closes=closes,
        technicians=draw(technicians()),
        places=Places(floor, draw(st.integers(1, 2)), 1),
        jobs=tuple(jobs),
        operations=tuple(tasks),
        slot_minutes=slot,
        holidays=tuple(MONDAY + timedelta(days=day) for day in draw(st.sets(st.integers(0, 30), max_size=3))),
    )

"""Every rule of the checker is broken on purpose once, and a recount slot by slot agrees with it."""

from dataclasses import replace
from datetime import date, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.scheduling.calc.check import RULES, check
from jobs.scheduling.calc.plan import plan
from jobs.scheduling.calc.problem import Fixed, Job, Places, Previous, Stint
from jobs.scheduling.calc.solution import Solution, Work
from tests.jobs.scheduling.calc.shops import at, operation, shop, shops, technician, work

PARTS = date(2027, 1, 6)
PEOPLE = (
    technician("bram", ("action", "string", "finish"), leave=((date(2027, 1, 13), date(2027, 1, 14)),)),
    technician("corin", skills=("finish",), workdays=(0, 1, 2, 3)),
    technician("dilys", skills=("action",)),
)
TASKS = [
    operation("j1.strip", 12, "finish", place="bench", wait_hours=24),
    operation("j1.spray", 2, "finish", place="spray", after=("j1.strip",)),
    operation("j1.tune", 5, "action", after=("j1.spray",), sessions=2),
    operation("j2.open", 2, "action", place="bench", not_before=PARTS),
    operation("j2.meet", 1, "action", fixed=Fixed("bram", at(7, "10:00"))),
]
PROBLEM = shop(
    TASKS,
    technicians=PEOPLE,
    places=Places(floor=2, bench=1, spray=1),
    jobs=(Job("j1", 2, date(2027, 1, 8), in_house=True), Job("j2", 1, date(2027, 1, 20))),
    holidays=(date(2027, 1, 18),),
)
PLAN = {
    "j1.strip": work("corin", (0, "08:00", "16:00"), (1, "08:00", "12:00")),
    "j1.spray": work("corin", (2, "12:00", "14:00")),
    "j1.tune": work("bram", (3, "08:00", "10:30"), (7, "11:00", "13:30")),
    "j2.open": work("bram", (2, "08:00", "10:00")),
    "j2.meet": work("bram", (7, "10:00", "11:00")),
}


def rules_broken(problem=PROBLEM, **changes):
    """Names of the rules broken when some operations of the plan are done otherwise (None: left out)."""
    works = PLAN | {key.replace("_", "."): value for key, value in changes.items()}
    return {broken.rule for broken in check(problem, Solution({key: value for key, value in works.items() if value}))}


def test_the_plan_the_others_are_made_from_keeps_every_rule():
    assert check(PROBLEM, Solution(PLAN)) == []


NOW = replace(PROBLEM, now=at(2, "12:00"), previous={"j1.strip": Previous("corin", PLAN["j1.strip"].stints)})
IN_SESSIONS = replace(
    PROBLEM, now=at(4, "08:00"), previous={key: Previous(w.technician, w.stints) for key, w in PLAN.items()}
)
EARLY = replace(PROBLEM, operations=(*TASKS[:3], replace(TASKS[3], not_before=None), TASKS[4]))
OVER_LEAVE = {
    "j1_strip": work("bram", (8, "08:00", "16:00"), (11, "08:00", "12:00")),
    "j1_spray": work("corin", (15, "08:00", "10:00")),
    "j1_tune": work("bram", (15, "10:00", "12:30"), (16, "08:00", "10:30")),
}
NARROW = replace(PROBLEM, places=Places(floor=1, bench=1, spray=1))

PLANTED = [
    ("complete", "left out", PROBLEM, {"j2_meet": None}),
    ("complete", "a stranger", PROBLEM, {"j2_open": work("edda", (2, "08:00", "10:00"))}),
    ("complete", "an unknown operation", PROBLEM, {"j9_odd": work("bram", (2, "10:00", "11:00"))}),
    ("skill", "lacks it", PROBLEM, {"j2_open": work("corin", (3, "08:00", "10:00"))}),
    ("day", "over closing", PROBLEM, {"j2_open": work("bram", (2, "15:00", "17:00"))}),
    ("day", "before opening", PROBLEM, {"j2_open": work("bram", (2, "07:00", "09:00"))}),
    ("day", "over night", PROBLEM, {"j2_open": Work("bram", (Stint(at(2, "15:00"), at(3, "09:00")),))}),
    ("day", "off the grid", PROBLEM, {"j2_open": work("bram", (2, "08:15", "10:15"))}),
    ("day", "backwards", PROBLEM, {"j2_open": work("bram", (2, "10:00", "08:00"))}),
    ("day", "out of order", PROBLEM, {"j1_tune": work("bram", (7, "11:00", "13:30"), (3, "08:00", "10:30"))}),
    ("calendar", "leave", PROBLEM, {"j2_open": work("bram", (9, "08:00", "10:00"))}),
    ("calendar", "holiday", PROBLEM, {"j2_open": work("bram", (14, "08:00", "10:00"))}),
    ("calendar", "weekend", PROBLEM, {"j2_open": work("bram", (5, "08:00", "10:00"))}),
    ("calendar", "not an own day", PROBLEM, {"j1_spray": work("corin", (4, "08:00", "10:00"))}),
    ("hours", "too few", PROBLEM, {"j2_open": work("bram", (2, "08:00", "09:30"))}),
    ("hours", "too many in sessions", PROBLEM, {"j1_tune": work("bram", (3, "08:00", "11:00"), (7, "11:00", "13:30"))}),
    ("uninterrupted", "a gap", PROBLEM, {"j2_open": work("bram", (2, "08:00", "09:00"), (2, "10:00", "11:00"))}),
    ("uninterrupted", "a day missed", PROBLEM, {"j2_open": work("bram", (2, "15:00", "16:00"), (4, "08:00", "09:00"))}),
    ("sessions", "one piece", PROBLEM, {"j1_tune": work("bram", (3, "08:00", "13:00"))}),
    ("sessions", "one day", PROBLEM, {"j1_tune": work("bram", (3, "08:00", "10:30"), (3, "13:00", "15:30"))}),
    ("sessions", "uneven", PROBLEM, {"j1_tune": work("bram", (3, "08:00", "11:00"), (7, "11:00", "13:00"))}),
    ("not before", "parts missing", PROBLEM, {"j2_open": work("bram", (1, "13:00", "15:00"))}),
    ("fixed", "later", PROBLEM, {"j2_meet": work("bram", (8, "10:00", "11:00"))}),
    ("now", "in the past", NOW, {}),
    ("started", "moved", NOW, {"j1_strip": work("corin", (0, "08:30", "16:00"), (1, "08:00", "12:30"))}),
    ("started", "a session", IN_SESSIONS, {"j1_tune": work("bram", (4, "08:00", "10:30"), (7, "11:00", "13:30"))}),
    ("after", "too early", PROBLEM, {"j1_tune": work("bram", (2, "13:00", "15:30"), (7, "11:00", "13:30"))}),
    ("wait", "not dry", PROBLEM, {"j1_spray": work("corin", (2, "11:30", "13:30"))}),
    ("double booking", "one person", PROBLEM, {"j2_open": work("bram", (7, "10:30", "12:30"))}),
    ("place", "bench taken", EARLY, {"j2_open": work("bram", (1, "10:00", "12:00"))}),
    ("place", "bench held over a leave", PROBLEM, OVER_LEAVE | {"j2_open": work("dilys", (9, "08:00", "10:00"))}),
    ("floor", "house full", NARROW, {}),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "how", "problem", "changes"), PLANTED, ids=lambda x: x if isinstance(x, str) else "")
def test_a_planted_violation_is_caught(rule, how, problem, changes):
    assert rule in rules_broken(problem, **changes)


def test_every_rule_has_a_planted_violation():
    assert {rule for rule, *_ in PLANTED} == set(RULES)


def test_a_broken_rule_is_a_sentence_that_names_the_operation():
    (broken,) = check(PROBLEM, Solution(PLAN | {"j2.open": work("bram", (7, "08:00", "10:30"))}))[:1]
    assert (broken.rule, broken.where) == ("hours", "j2.open")
    assert str(broken) == "j2.open: 2.5 hours are planned, 2 are needed."


ALLOWED = [
    ("a pause over leave and weekend", OVER_LEAVE),
    ("the last day of the own week, then a pause", {"j2_open": work("bram", (4, "14:00", "16:00"))}),
    ("starting the minute the wait is over", {"j1_spray": work("corin", (2, "12:00", "14:00"))}),
    ("other work between sessions", {"j2_open": work("bram", (4, "08:00", "10:00"))}),
    ("one after the other on the bench", {"j2_open": work("dilys", (2, "08:00", "10:00"))}),
]


@pytest.mark.parametrize(("how", "changes"), ALLOWED, ids=lambda x: x if isinstance(x, str) else "")
def test_what_the_rules_allow_is_not_called_broken(how, changes):
    assert rules_broken(**changes) == set()


def test_a_place_is_free_between_sessions_and_taken_within_one():
    tasks = [operation("j1.felt", 4, place="bench", sessions=2), operation("j2.open", 2, place="bench")]
    problem = shop(tasks, places=Places(2, 1, 1))
    felt = work("bram", (0, "08:00", "10:00"), (2, "08:00", "10:00"))
    between = Solution({"j1.felt": felt, "j2.open": work("corin", (1, "08:00", "10:00"))})
    during = Solution({"j1.felt": felt, "j2.open": work("corin", (2, "09:00", "11:00"))})
    assert check(problem, between) == []
    assert [broken.rule for broken in check(problem, during)] == ["place"]


def test_a_floor_place_freed_at_noon_can_be_taken_at_noon():
    tasks = [operation("j1.a", 4), operation("j2.a", 4)]
    problem = shop(tasks, places=Places(1, 1, 1))
    first = work("bram", (0, "08:00", "12:00"))
    at_noon = Solution({"j1.a": first, "j2.a": work("corin", (0, "12:00", "16:00"))})
    sooner = Solution({"j1.a": first, "j2.a": work("corin", (0, "11:30", "15:30"))})
    assert check(problem, at_noon) == []
    assert [broken.rule for broken in check(problem, sooner)] == ["floor"]


def test_an_instrument_in_the_house_holds_its_place_from_the_start():
    tasks = [operation("j1.a", 4), operation("j2.a", 4)]
    jobs = (Job("j1", in_house=True), Job("j2"))
    problem = shop(tasks, places=Places(1, 1, 1), jobs=jobs)
    other_first = Solution({"j2.a": work("bram", (0, "08:00", "12:00")), "j1.a": work("bram", (1, "08:00", "12:00"))})
    assert [broken.rule for broken in check(problem, other_first)] == ["floor"]


QUARTER = timedelta(minutes=15)


def quarters(start, end):
    while start < end:
        yield start
        start += QUARTER


def recount(problem, works):
    """Which capacities are exceeded, counted quarter hour by quarter hour without any cleverness."""
    people, places, floor, job_spans = {}, {}, {}, {}
    for task in problem.operations:
        if task.id not in works:
            continue
        done = works[task.id]
        pieces = [(piece.start, piece.end) for piece in done.stints]
        for moment in (moment for piece in pieces for moment in quarters(*piece)):
            people.setdefault((done.technician, moment), set()).add(task.id)
        held = [(pieces[0][0], pieces[-1][1])] if task.sessions == 1 else pieces
        if task.place in ("bench", "spray"):
            for moment in (moment for span in held for moment in quarters(*span)):
                places.setdefault((task.place, moment), set()).add(task.id)
        job_spans.setdefault(task.job, []).extend(pieces)
    for job in problem.jobs:
        if job.id in job_spans:
            start = min(piece[0] for piece in job_spans[job.id])
            start = datetime.combine(problem.start, time()) if job.in_house else start
            for moment in quarters(start, max(piece[1] for piece in job_spans[job.id])):
                floor.setdefault(moment, set()).add(job.id)
    return {
        "double booking": any(len(tasks) > 1 for tasks in people.values()),
        "place": any(len(tasks) > problem.places.of(place) for (place, _), tasks in places.items()),
        "floor": any(len(jobs) > problem.places.floor for jobs in floor.values()),
    }


@given(shops(), st.data())
def test_a_recount_quarter_by_quarter_agrees_on_people_places_and_floor(problem, data):
    works = dict(plan(problem, rounds=0).operations)
    for key in data.draw(st.sets(st.sampled_from(sorted(works)), max_size=6)):
        shift = timedelta(days=7 * data.draw(st.integers(-3, 3)))
        who = data.draw(st.sampled_from([person.id for person in problem.technicians]))
        works[key] = Work(who, tuple(Stint(one.start + shift, one.end + shift) for one in works[key].stints))
    broken = check(problem, Solution(works))
    misshapen = {one.where for one in broken if one.rule in ("day", "calendar")}
    sound = {key: done for key, done in works.items() if key not in misshapen}
    found = {one.rule for one in broken}
    assert {rule: rule in found for rule in ("double booking", "place", "floor")} == recount(problem, sound)

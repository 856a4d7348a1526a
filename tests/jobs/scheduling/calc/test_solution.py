import json
from datetime import date, datetime, time

import pytest
from hypothesis import given

from jobs.scheduling.calc.plan import plan
from jobs.scheduling.calc.problem import Fixed, Job, Places, Previous, Stint
from jobs.scheduling.calc.problem_file import UnreadableFile, problem_data, problem_read, problem_write
from jobs.scheduling.calc.solution import DayUse, Solution, solution_data, solution_read, solution_write
from tests.jobs.scheduling.calc.shops import at, operation, shop, shops, technician, work

TASKS = [
    operation("j1.a", 4, place="bench"),
    operation("j1.b", 3, place="bench", sessions=2, after=("j1.a",)),
    operation("j2.a", 12, place="spray"),
]
JOBS = [Job("j1", 3, date(2027, 1, 6)), Job("j2", 2, date(2027, 1, 8), in_house=True), Job("j3", 5, date(2027, 1, 1))]
PROBLEM = shop(TASKS, jobs=JOBS, places=Places(2, 2, 1))
PLAN = Solution(
    {
        "j1.a": work("bram", (1, "12:00", "16:00")),
        "j1.b": work("corin", (2, "08:00", "09:30"), (4, "08:00", "09:30")),
        "j2.a": work("bram", (2, "12:00", "16:00"), (3, "08:00", "16:00")),
    }
)


def test_it_counts_calendar_days_late_by_weight():
    assert PLAN.days_late(PROBLEM) == {"j1": 2}  # due Wed, ends Fri; j2 ends Thu, due Fri; j3 has no work
    assert PLAN.weighted_days_late(PROBLEM) == 6
    assert PLAN.objective(PROBLEM) == (6, at(4, "09:30"))


def test_a_job_without_a_due_date_is_never_late():
    problem = shop(TASKS, jobs=[Job("j1"), Job("j2")])
    assert PLAN.weighted_days_late(problem) == 0


def test_it_shows_the_most_places_in_use_each_day():
    assert PLAN.occupancy(PROBLEM) == (
        DayUse(date(2027, 1, 4), floor=1, bench=0, spray=0),
        DayUse(date(2027, 1, 5), floor=2, bench=1, spray=0),
        DayUse(date(2027, 1, 6), floor=2, bench=1, spray=1),
        DayUse(date(2027, 1, 7), floor=2, bench=0, spray=1),
        DayUse(date(2027, 1, 8), floor=1, bench=1, spray=0),
    )


def test_one_session_holds_its_place_over_a_pause_and_several_do_not():
    holds = [(hold.place, hold.holder, hold.start, hold.end) for hold in PLAN.holds(PROBLEM)]
    assert ("spray", "j2.a", at(2, "12:00"), at(3, "16:00")) in holds
    assert ("bench", "j1.b", at(2, "08:00"), at(2, "09:30")) in holds
    assert ("floor", "j2", datetime.combine(date(2027, 1, 4), time()), at(3, "16:00")) in holds


@given(shops())
def test_a_problem_and_its_plan_survive_the_file(problem):
    solution = plan(problem, rounds=0)
    assert problem_read(problem_write(problem)) == problem
    assert solution_read(solution_write(solution)).operations == solution.operations


def test_the_problem_file_has_the_described_form():
    # the example of the exchange format's description, with its own values
    text = """{"name": "x", "start": "2027-01-04", "slot_minutes": 30, "day": ["08:00", "16:00"],
     "workdays": [0, 1, 2, 3, 4], "holidays": ["2027-03-26"],
     "technicians": [{"id": "t1", "skills": ["action", "setup"], "workdays": [0, 1, 2, 3],
                      "leave": [["2027-02-08", "2027-02-12"]]}],
     "places": {"floor": 14, "bench": 6, "spray": 1},
     "jobs": [{"id": "j1", "weight": 3, "due": "2027-06-04", "in_house": true}],
     "operations": [{"id": "j1.strip", "job": "j1", "hours": 6.5, "skill": "finish", "place": "bench",
                     "after": ["j1.open"], "wait_hours": 48, "sessions": 1, "not_before": "2027-02-10",
                     "fixed": {"technician": "t1", "start": "2027-02-10T09:00"}}],
     "now": "2027-02-01T08:00",
     "previous": {"j1.open": {"technician": "t2", "stints": [["2027-01-04T08:00", "2027-01-04T12:00"]]}}}"""
    problem = problem_read(text)
    (strip,) = problem.operations
    assert (strip.hours, strip.wait_hours, strip.not_before) == (6.5, 48, date(2027, 2, 10))
    assert strip.fixed == Fixed("t1", datetime(2027, 2, 10, 9))
    assert problem.previous == {"j1.open": Previous("t2", (Stint(at(0), at(0, "12:00")),))}
    assert problem.now == datetime(2027, 2, 1, 8)
    assert problem_data(problem) == json.loads(text)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("{", "This is not JSON"),
        ("[]", "one JSON object"),
        ('{"name": "x"}', "In the heading the entry 'day' is missing"),
        (problem_write(PROBLEM).replace('"hours": 12', '"hours": "long"'), "In operation j2.a: could not convert"),
        (problem_write(PROBLEM).replace('"due": "2027-01-08"', '"due": "soon"'), "In job j2: Invalid isoformat"),
        (problem_write(shop([], technicians=[technician()])).replace('"leave"', '"away"'), "technician bram .*'leave'"),
    ],
)
def test_a_file_that_cannot_be_read_says_where(text, sentence):
    with pytest.raises(UnreadableFile, match=sentence):
        problem_read(text)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("{", "cannot be read at the heading"),
        ("{}", "cannot be read at the heading: 'operations'"),
        ('{"operations": {"j1.a": {"technician": "bram"}}}', "at operation j1.a: 'stints'"),
        ('{"operations": {"j1.a": {"technician": "bram", "stints": []}}}', "j1.a: it has no stints"),
    ],
)
def test_a_plan_that_cannot_be_read_says_where(text, sentence):
    with pytest.raises(UnreadableFile, match=sentence):
        solution_read(text)


def test_the_plan_file_has_the_described_form():
    solution = Solution({"j1.strip": work("t1", (1, "08:00", "14:30"))}, seconds=5.0)
    assert solution_data(solution) == {
        "operations": {"j1.strip": {"technician": "t1", "stints": [["2027-01-05T08:00", "2027-01-05T14:30"]]}},
        "seconds": 5.0,
        "proved": False,
    }

"""The load of the weeks against a recount that walks the clock, places against a look at every moment."""

from datetime import date, datetime, time, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.scheduling.calc.load import (
    Planned,
    SkillWeek,
    first_open,
    holds_standing,
    hours_there,
    load_of,
    most_at_once,
    places_by_week,
)
from jobs.scheduling.calc.plan import plan
from jobs.scheduling.calc.problem import BENCH, FLOOR, SPRAY, Job, Places
from jobs.scheduling.calc.solution import Hold, Solution
from jobs.scheduling.calc.steps import NEVER
from tests.jobs.scheduling.calc.shops import MONDAY, SKILLS, at, operation, shop, shops, technician, work

QUARTER = timedelta(minutes=15)


def planned_of(problem, solution):
    return [
        Planned(
            work.technician, problem.operation_by_id[key].skill, problem.operation_by_id[key].job, one.start, one.end
        )
        for key, work in solution.operations.items()
        for one in work.stints
    ]


def quarters(first, until):
    while first < until:
        yield first
        first += QUARTER


def is_in(problem, who, moment):
    day = moment.date()
    on_leave = any(first <= day <= last for first, last in who.leave)
    return (
        day.weekday() in set(problem.workdays) & set(who.workdays)
        and day not in problem.holidays
        and not on_leave
        and problem.opens <= moment.time() < problem.closes
    )


@settings(max_examples=12)
@given(shops(), st.integers(0, 9), st.sampled_from(("00:00", "09:15", "13:00", "20:00")))
def test_every_hour_is_counted_as_a_walk_along_the_clock_counts_it(problem, day, clock):
    solution, since, weeks = plan(problem, rounds=0), at(day, clock), 3
    load = load_of(problem, planned_of(problem, solution), skills=SKILLS, since=since, weeks=weeks)
    monday = MONDAY + timedelta(days=7 * (day // 7))
    for number in range(weeks):
        first = datetime.combine(monday + timedelta(days=7 * number), time())
        walk = list(quarters(max(first, since), first + timedelta(days=7)))
        there = {who.id: sum(is_in(problem, who, moment) for moment in walk) / 4 for who in problem.technicians}
        doing = dict.fromkeys(((who.id, skill) for who in problem.technicians for skill in SKILLS), 0.0)
        for key, done in solution.operations.items():
            for one in done.stints:
                skill = problem.operation_by_id[key].skill
                doing[done.technician, skill] += sum(one.start <= moment < one.end for moment in walk) / 4
        for skill in SKILLS:
            week = load.skills[skill][number]
            able = [who.id for who in problem.technicians if skill in who.skills]
            assert week.monday == first.date()
            assert week.could == sum(there[who] for who in able)
            assert week.planned == sum(doing[who, skill] for who in able)
            assert week.elsewhere == sum(doing[who, other] for who in able for other in SKILLS if other != skill)
            assert dict(week.carriers) == {who: doing[who, skill] for who in able if doing[who, skill]}
        assert load.house(number) == (sum(doing.values()), sum(there.values())), "everybody once"


@settings(max_examples=12)
@given(shops())
def test_places_are_counted_as_a_look_at_every_moment_counts_them(problem):
    solution = plan(problem, rounds=0)
    since = datetime.combine(MONDAY, time())
    holds = holds_standing(problem, solution, now=since)
    mondays = [MONDAY + timedelta(days=7 * number) for number in range(4)]
    spans = {FLOOR: [], BENCH: [], SPRAY: []}
    for job in problem.jobs:
        works = [solution.operations[one.id] for one in problem.operations if one.job == job.id]
        first = since if job.in_house else min(one.start for one in works)
        spans[FLOOR].append((first, max(one.end for one in works)))
    for one in problem.operations:
        if one.place in (BENCH, SPRAY):
            done = solution.operations[one.id]
            whole = [(done.start, done.end)]
            spans[one.place] += whole if one.sessions == 1 else [(piece.start, piece.end) for piece in done.stints]
    for place, own in spans.items():
        for monday, most in zip(mondays, places_by_week(holds, place, mondays, since), strict=True):
            first = datetime.combine(monday, time())
            looks = quarters(first, first + timedelta(days=7))
            assert most == max(sum(begins <= moment < ends for begins, ends in own) for moment in looks)
    by_day = {use.day: use.floor for use in solution.occupancy(problem)}
    for monday, most in zip(mondays, places_by_week(holds, FLOOR, mondays, since), strict=True):
        assert most == max(by_day.get(monday + timedelta(days=day), 0) for day in range(7))


def test_what_is_done_in_one_skill_is_taken_off_in_the_others_and_what_is_left_stands_under_each():
    people = [technician("corin", ("action", "string")), technician("dilys", ("string",))]
    task = operation("j1.a", 30, skill="action")
    problem = shop([task], technicians=people)
    stints = [Planned("corin", "action", "j1", at(day), at(day, "15:30")) for day in range(4)]
    load = load_of(problem, stints, skills=("action", "string"), since=at(0), weeks=1)
    (action,), (string,) = load.skills["action"], load.skills["string"]
    assert (action.could, action.planned, action.elsewhere, action.left) == (40, 30, 0, 10)
    assert (string.could, string.planned, string.elsewhere, string.left) == (80, 0, 30, 50)
    assert load.house(0) == (30, 80)


@pytest.mark.parametrize(
    ("could", "planned", "elsewhere", "tight"),
    [
        (40, 36, 0, False),  # nine tenths and no more
        (40, 36.5, 0, True),
        (40, 4, 33, True),  # their other work fills them
        (40, 0, 40, False),  # nothing planned in it
        (0, 2, 0, True),  # planned, and nobody is in
        (0, 0, 0, False),
    ],
)
def test_a_week_is_full_above_nine_tenths_when_work_is_planned_in_it(could, planned, elsewhere, tight):
    assert SkillWeek("action", MONDAY, could, planned, elsewhere).is_tight is tight


def test_begun_work_is_carried_by_who_is_not_down_for_it_and_hours_beyond_the_weeks_count_nowhere():
    problem = shop([operation("j1.a", 2)], technicians=[technician("corin", ("string",))])
    stints = [
        Planned("corin", "action", "j1", at(1), at(1, "10:00")),
        Planned("corin", "action", "j1", at(70), at(70, "10:00")),
        Planned("gone", "action", "j1", at(1), at(1, "10:00")),
    ]
    load = load_of(problem, stints, skills=("action",), since=at(0), weeks=2)
    first, second = load.skills["action"]
    assert (first.could, first.planned, first.carriers) == (40, 2, (("corin", 2),))
    assert (second.could, second.planned) == (0, 0)


def test_the_first_week_counts_from_the_moment_on_and_a_weekend_from_the_next_open_day():
    problem = shop([operation("j1.a", 2)], holidays=(MONDAY + timedelta(days=7),))
    (who, _) = problem.technicians
    assert hours_there(problem, who, MONDAY, at(2, "10:30")) == 5.5 + 16
    assert hours_there(problem, who, MONDAY, at(4, "18:00")) == 0
    assert first_open(problem, at(5, "08:00")) == at(8, "00:00"), "Saturday; Monday is a holiday"
    assert first_open(problem, at(2, "10:30")) == at(2, "10:30")


def test_what_stands_in_the_house_without_an_end_to_come_holds_its_place():
    jobs = [Job("j1", in_house=True), Job("j2", in_house=True), Job("j3", in_house=True), Job("j4")]
    tasks = [operation("j1.a"), operation("j2.a"), operation("j4.a")]
    problem = shop(tasks, jobs=jobs, places=Places(4, 2, 1))
    solution = Solution(
        {
            "j1.a": work("bram", (8, "08:00", "10:00")),
            "j2.a": work("bram", (0, "08:00", "10:00")),  # should have ended before now
            "j4.a": work("corin", (9, "08:00", "10:00")),
        }
    )
    holds = {hold.holder: hold.end for hold in holds_standing(problem, solution, now=at(7)) if hold.place == FLOOR}
    assert holds == {"j1": at(8, "10:00"), "j2": NEVER, "j3": NEVER, "j4": at(9, "10:00")}
    assert places_by_week(
        holds_standing(problem, solution, now=at(7)), FLOOR, [date(2027, 1, 11), date(2027, 1, 18)], at(7)
    ) == (3, 2), "j1 is gone before j4 comes"


def test_one_leaving_as_another_comes_is_one_place():
    holds = [Hold(FLOOR, "a", at(0), at(1)), Hold(FLOOR, "b", at(1), at(2)), Hold(BENCH, "c", at(0), at(2))]
    assert most_at_once(holds, FLOOR, at(0), at(2)) == 1
    assert most_at_once(holds, FLOOR, at(2), at(3)) == 0

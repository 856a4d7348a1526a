"""Fitting a job into a plan: the checker finds nothing wrong, nobody moves, and no earlier gap was missed."""

from dataclasses import replace
from datetime import datetime, time, timedelta

import pytest
from hypothesis import assume, given, settings

from jobs.scheduling.calc.check import check
from jobs.scheduling.calc.fit import Taken, fit
from jobs.scheduling.calc.freed import brought_in_earlier, stints_of
from jobs.scheduling.calc.load import holds_standing
from jobs.scheduling.calc.plan import plan
from jobs.scheduling.calc.problem import FLOOR, Job, Places
from jobs.scheduling.calc.solution import Solution
from jobs.scheduling.calc.steps import EVER, NEVER, Steps
from tests.jobs.scheduling.calc.shops import MONDAY, at, operation, shop, shops, technician, work


def without(problem, job):
    """The problem without one job, and that job's operations."""
    own = [one for one in problem.operations if one.job == job]
    rest = replace(
        problem,
        jobs=tuple(one for one in problem.jobs if one.id != job),
        operations=tuple(one for one in problem.operations if one.job != job),
    )
    return rest, own


def fitted(problem, job, solution):
    """One job fitted beside the plan of all others."""
    _, own = without(problem, job)
    others = {key: one for key, one in solution.operations.items() if problem.operation_by_id[key].job != job}
    beside = Solution(others)
    return fit(problem, own, Taken(problem, stints_of(others), beside.holds(problem))), beside


@settings(max_examples=20)
@given(shops())
def test_whatever_is_fitted_in_keeps_every_rule_and_nobody_moves(problem):
    job = problem.jobs[-1].id
    assume(not problem.jobs[-1].in_house)
    rest, _ = without(problem, job)
    solution = plan(rest, rounds=0) if rest.operations else Solution({})
    works, beside = fitted(problem, job, solution)
    assert works is not None, "the year after the plan is empty"
    assert check(problem, Solution({**beside.operations, **works})) == []


def tried_everywhere(problem, one, beside, until):
    """The earliest end of one operation in one session: every person and every slot tried, moment by moment."""
    slot, start = timedelta(minutes=problem.slot_minutes), datetime.combine(problem.start, problem.opens)
    moments = [start + number * slot for number in range(int((until - start) / slot))]
    place = {now: number for number, now in enumerate(moments)}
    holds = beside.holds(problem)

    def roomy(kind):
        own = [hold for hold in holds if hold.place == kind]
        return {now for now in moments if sum(hold.start <= now < hold.end for hold in own) < problem.places.of(kind)}

    may = roomy(FLOOR) & (roomy(one.place) if one.place in ("bench", "spray") else set(moments))
    ends = []
    for who in (who for who in problem.technicians if one.skill in who.skills):
        busy = [piece for other in beside.operations.values() if other.technician == who.id for piece in other.stints]
        in_shop = [
            now
            for now in moments
            if now.weekday() in set(problem.workdays) & set(who.workdays)
            and now.date() not in problem.holidays
            and not any(first <= now.date() <= last for first, last in who.leave)
            and problem.opens <= now.time() < problem.closes
        ]
        taken = {now for now in in_shop for piece in busy if piece.start <= now < piece.end}
        need = problem.slots_of(one)
        for number in range(len(in_shop) - need + 1):
            run = in_shop[number : number + need]
            whole = moments[place[run[0]] : place[run[-1]] + 1]
            after_parts = one.not_before is None or run[0].date() >= one.not_before
            if after_parts and taken.isdisjoint(run) and may.issuperset(whole):
                ends.append(run[-1] + slot)
                break
    return min(ends)


@settings(max_examples=6)
@given(shops())
def test_no_earlier_gap_is_missed(problem):
    job = problem.jobs[-1].id
    rest, own = without(problem, job)
    one = replace(own[0], after=(), sessions=1)
    problem = replace(
        problem, jobs=(*rest.jobs, replace(problem.jobs[-1], in_house=False)), operations=(*rest.operations, one)
    )
    solution = plan(rest, rounds=0) if rest.operations else Solution({})
    works, beside = fitted(problem, job, solution)
    assert works[one.id].end == tried_everywhere(problem, one, beside, works[one.id].end)


def test_work_goes_into_the_first_gap_that_is_long_enough_for_person_and_bench():
    tasks = [operation("j1.a", 3, place="bench"), operation("j2.a", 3, skill="string", place="bench"),
             operation("j3.a", 2, place="bench")]  # fmt: skip
    problem = shop(
        tasks,
        technicians=[technician("corin", ("action",)), technician("dilys", ("string",))],
        places=Places(4, 1, 1),
    )
    taken = Solution({"j1.a": work("corin", (0, "09:00", "12:00")), "j2.a": work("dilys", (0, "12:00", "15:00"))})
    works, _ = fitted(problem, "j3", taken)
    # 8 to 9 is too short; until 15:00 the one bench is taken; it may then pause over the night
    assert works["j3.a"] == work("corin", (0, "15:00", "16:00"), (1, "08:00", "09:00"))


def test_the_floor_is_held_without_a_gap_from_the_first_stint_to_the_last():
    tasks = [operation("j1.a", 8), operation("j2.a", 2, wait_hours=48), operation("j2.b", 2, after=("j2.a",))]
    jobs = [Job("j1"), Job("j2")]
    problem = shop(tasks, jobs=jobs, technicians=[technician("bram"), technician("corin")], places=Places(1, 2, 1))
    works, _ = fitted(problem, "j2", Solution({"j1.a": work("bram", (1, "08:00", "16:00"))}))
    # both tasks would fit on Monday and Wednesday, but on Tuesday the only place is j1's
    assert works["j2.a"].start == at(2, "08:00")
    assert works["j2.b"].start == at(4, "10:00")


def test_sessions_lie_on_different_days_with_one_person_and_parts_and_now_are_waited_for():
    task = operation("j1.a", 4, sessions=2, not_before=MONDAY + timedelta(days=2))
    problem = shop([task], technicians=[technician("corin", workdays=(0, 2, 4))], now=at(1, "10:00"))
    works, _ = fitted(problem, "j1", Solution({}))
    assert works["j1.a"] == work("corin", (2, "08:00", "10:00"), (4, "08:00", "10:00"))


@pytest.mark.parametrize(
    "problem",
    [
        shop([operation("j1.a", skill="gilding")]),
        shop([operation("j1.a", place="spray")], places=Places(4, 2, 0)),
        shop([operation("j1.a")], places=Places(0, 2, 1)),
    ],
    ids=["nobody", "no place", "no floor"],
)
def test_what_fits_nowhere_is_not_fitted(problem):
    assert fitted(problem, "j1", Solution({}))[0] is None


def test_stretches_without_a_place_and_the_first_clash_with_them():
    steps = Steps([(at(0), at(3)), (at(1), at(4)), (at(6), at(7)), (at(6), at(7))])
    assert steps.clash(at(0), at(1), 2) is None, "half open"
    assert steps.clash(at(2), at(9), 2) == (at(2) - timedelta(days=1), at(3))
    assert steps.clash(at(3), at(9), 2) == (at(6), at(7))
    assert steps.clash(at(7), at(9), 2) is None
    more = steps.copy()
    more.add(at(3), at(8))
    assert more.clash(at(2), at(9), 2) == (at(1), at(4))
    assert more.clash(at(4), at(9), 2) == (at(6), at(7))
    assert steps.clash(at(3), at(6), 2) is None, "a copy is on its own"
    assert Steps().clash(at(0), at(1), 0) == (EVER, NEVER)


# ---- what a floor place that comes free would bring in -----------------------------------------------------


def full_house():
    """Two floor places: j1 stands there finished, j2 is worked on until Friday; j3 and j4 come after it."""
    jobs = [Job("j1", in_house=True), Job("j2", in_house=True), Job("j3"), Job("j4")]
    tasks = [operation("j2.a", 40), operation("j3.a", 8, skill="string"), operation("j4.a", 8, skill="string")]
    people = [technician("corin", ("action",)), technician("dilys", ("string",))]
    problem = shop(tasks, jobs=jobs, technicians=people, places=Places(2, 4, 1), now=at(0))
    week = tuple((day, "08:00", "16:00") for day in range(5))
    solution = Solution(
        {
            "j2.a": work("corin", *week),
            "j3.a": work("dilys", (7, "08:00", "16:00")),
            "j4.a": work("dilys", (8, "08:00", "16:00")),
        }
    )
    return problem, solution, holds_standing(problem, solution, now=at(0))


def test_a_finished_instrument_collected_lets_the_next_ones_in_at_once():
    problem, solution, holds = full_house()
    third, fourth = brought_in_earlier(problem, solution, holds, leaving={"j1"})
    assert (third.job, third.comes, third.could_come) == ("j3", at(7), at(0))
    assert (third.ends, third.could_end) == (at(7, "16:00"), at(0, "16:00"))
    assert (fourth.job, fourth.comes, fourth.could_come) == ("j4", at(8), at(1))
    assert brought_in_earlier(problem, solution, holds, more=1) == [third, fourth], "one place more does the same"
    assert brought_in_earlier(problem, solution, holds) == []


def test_what_people_hold_back_no_floor_place_brings_in_earlier():
    problem, solution, holds = full_house()
    away = replace(problem.technicians[1], leave=((MONDAY, MONDAY + timedelta(days=6)),))
    problem = replace(problem, technicians=(problem.technicians[0], away))
    assert brought_in_earlier(problem, solution, holds, leaving={"j1"}) == []


@settings(max_examples=10)
@given(shops())
def test_a_place_more_never_makes_anything_later_and_names_no_instrument_of_the_house(problem):
    solution = plan(problem, rounds=0)
    now = datetime.combine(problem.start, time())
    holds = holds_standing(problem, solution, now=now)
    ends = solution.job_ends(problem)
    for one in brought_in_earlier(problem, solution, holds, more=1):
        assert one.could_come < one.comes
        assert one.could_end <= one.ends <= ends[one.job]
        assert not problem.job_by_id[one.job].in_house
    assert brought_in_earlier(problem, solution, holds, more=0) == []
    assert FLOOR in {hold.place for hold in holds}

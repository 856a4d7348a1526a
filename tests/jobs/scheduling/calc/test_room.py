"""Room for one job more: sound plans, nothing begun earlier, nothing near moved, and what others pay told in full."""

from dataclasses import replace
from datetime import datetime, time, timedelta

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from jobs.scheduling.calc.check import check
from jobs.scheduling.calc.plan import plan
from jobs.scheduling.calc.problem import Fixed, Job, Places
from jobs.scheduling.calc.room import Moved, room, rooms
from jobs.scheduling.calc.solution import Solution
from jobs.scheduling.calc.solve.near import near_until
from tests.jobs.scheduling.calc.shops import MONDAY, at, operation, shop, shops, technician, work


def split(problem, ahead=0):
    """A shop of which the last job is still to be decided on, and the plan of all others.

    ``ahead``: days before their plan begins that the question is asked; with 21 all of it is far off.
    """
    last = replace(problem.jobs[-1], in_house=False, due=None)
    others = tuple(one for one in problem.operations if one.job != last.id)
    solution = plan(replace(problem, jobs=problem.jobs[:-1], operations=others), rounds=0)
    start = problem.start - timedelta(days=ahead)
    now = datetime.combine(start, time())
    problem = replace(problem, start=start, now=now, jobs=(*problem.jobs[:-1], last))
    return later_by(problem, last.id, 0), solution, last.id


def later_by(problem, job, days):
    """The same with the job arriving some days later."""
    arrives = MONDAY + timedelta(days=days)
    return replace(
        problem,
        operations=tuple(
            replace(one, not_before=max(one.not_before or arrives, arrives)) if one.job == job else one
            for one in problem.operations
        ),
    )


@settings(max_examples=25)
@given(shops(), st.sampled_from((0, 21)))
def test_every_answer_keeps_every_rule_and_says_of_each_other_job_what_it_does_to_it(problem, ahead):
    assume(len(problem.jobs) > 1)
    problem, before, job = split(problem, ahead)
    found = rooms(problem, before, job)
    was = before.job_ends(problem)
    assert found.nobody_moves is not None, "after everything else there is room"
    days = []
    for one in filter(None, (found.nobody_moves, found.promises_kept, found.first)):
        assert check(problem, one.solution) == []
        ends = one.solution.job_ends(problem)
        assert one.end == ends.pop(job)
        later = {name: end for name, end in ends.items() if end.date() > was[name].date()}
        assert {moved.job: moved.end for moved in one.moved} == later
        for key, old in before.operations.items():
            if old.start < near_until(problem):
                assert one.solution.operations[key] == old, "told to people: it stays"
            assert one.solution.operations[key].start >= old.start, "nothing begins earlier for it"
        days.append(one.end.date())
    assert days == sorted(set(days), reverse=True), "each is sooner than the one before, or left out"
    calm = found.nobody_moves
    assert not calm.moved
    assert all(calm.solution.operations[key] == old for key, old in before.operations.items())
    if found.promises_kept:
        assert not any(moved.harms for moved in found.promises_kept.moved)


@settings(max_examples=10)
@given(shops())
def test_the_plan_of_a_later_answer_would_do_for_an_earlier_one(problem):
    """What ``what_if`` rests on when it takes the better of both: the later plan breaks no rule of the earlier one."""
    problem, before, job = split(problem)
    later = rooms(later_by(problem, job, 14), before, job)
    for one in filter(None, (later.nobody_moves, later.promises_kept, later.first)):
        assert check(problem, one.solution) == []
        first = min(one.solution.operations[own.id].start for own in problem.operations if own.job == job)
        assert first.date() >= MONDAY + timedelta(days=14)


def busy(due=None, **more):
    """One person: j1 takes their third and fourth week, j2 wants one week of theirs from the third on."""
    tasks = [operation("j1.a", 80), operation("j2.a", 40, not_before=MONDAY + timedelta(days=14))]
    jobs = [Job("j1", 1, due), Job("j2")]
    problem = shop(tasks, jobs=jobs, technicians=[technician("corin")], places=Places(2, 2, 1), now=at(0), **more)
    days = tuple((day, "08:00", "16:00") for day in (14, 15, 16, 17, 18, 21, 22, 23, 24, 25))
    return problem, Solution({"j1.a": work("corin", *days)})


def test_going_first_puts_the_other_off_by_just_what_it_takes():
    found = rooms(*busy(), "j2")
    assert found.nobody_moves.end == at(32, "16:00")
    assert found.promises_kept.end == at(18, "16:00")
    assert found.promises_kept.moved == (Moved("j1", at(25, "16:00"), at(32, "16:00"), None),)
    assert found.promises_kept.moved[0].days == 7
    assert found.first is None, "no day sooner"


def test_a_promise_in_the_way_is_kept_or_told_to_be_passed():
    due = MONDAY + timedelta(days=28)
    found = rooms(*busy(due), "j2")
    assert found.promises_kept is None
    assert found.first.end == at(18, "16:00")
    (moved,) = found.first.moved
    assert moved.passes
    assert moved.due == due


def test_who_is_late_already_is_not_put_off_further_while_promises_are_kept():
    found = rooms(*busy(MONDAY + timedelta(days=20)), "j2")
    assert found.promises_kept is None
    (moved,) = found.first.moved
    assert (moved.passes, moved.harms) == (False, True)


def test_a_promise_with_days_in_hand_gives_them():
    found = rooms(*busy(MONDAY + timedelta(days=32)), "j2")
    assert found.promises_kept.end == at(18, "16:00")
    assert not found.promises_kept.moved[0].passes


def test_an_appointment_stays():
    problem, solution = busy()
    fixed = replace(problem.operations[0], fixed=Fixed("corin", at(14)))
    problem = replace(problem, operations=(fixed, problem.operations[1]))
    found = rooms(problem, solution, "j2")
    assert (found.promises_kept, found.first) == (None, None)


def test_an_instrument_that_has_to_wait_for_the_floor_comes_in_later_and_is_told():
    tasks = [operation("j1.a", 8), operation("j2.a", 40, skill="string", not_before=MONDAY + timedelta(days=14))]
    people = [technician("corin", ("action",)), technician("dilys", ("string",))]
    problem = shop(tasks, jobs=[Job("j1"), Job("j2")], technicians=people, places=Places(1, 2, 1), now=at(0))
    solution = Solution({"j1.a": work("corin", (16, "08:00", "16:00"))})
    first = room(problem, solution, "j2", may_move={"j1"})
    assert first.end == at(18, "16:00")
    assert first.solution.operations["j1.a"].start == at(21, "08:00")
    calm = room(problem, solution, "j2", may_move=())
    assert calm.solution.operations["j2.a"].start == at(17, "08:00")


def test_what_finds_nobody_has_no_answer():
    problem, solution = busy()
    odd = replace(problem, operations=(problem.operations[0], replace(problem.operations[1], skill="gilding")))
    assert rooms(odd, solution, "j2").nobody_moves is None
    with pytest.raises(ValueError, match="without now"):
        rooms(replace(problem, now=None), solution, "j2")

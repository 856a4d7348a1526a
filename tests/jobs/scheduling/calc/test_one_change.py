"""The one change that would help most: small houses in which it is plain what holds them up."""

from datetime import timedelta

from jobs.scheduling.calc.draws import Uncertainty
from jobs.scheduling.calc.futures import futures
from jobs.scheduling.calc.one_change import Help, changes
from jobs.scheduling.calc.plan import plan
from jobs.scheduling.calc.problem import Places
from tests.jobs.scheduling.calc.shops import MONDAY, at, operation, shop, technician


def helped(problem, uncertainty=None, jobs=("j1",), **more):
    uncertainty = uncertainty or Uncertainty(dict.fromkeys(problem.operation_by_id, 0.2))
    found = futures(problem, plan(problem, rounds=0), uncertainty, number=200)
    return changes(found, uncertainty, jobs, **more)


def test_a_second_person_where_one_does_everything():
    problem = shop(
        [operation(f"j{number}.a", 40) for number in (1, 2, 3, 4)],
        technicians=[technician("bram", ("action",))],
    )
    last = max(plan(problem, rounds=0).job_ends(problem).items(), key=lambda one: one[1])[0]
    told = helped(problem, jobs=[last])[last]
    assert (told.help, told.what) == (Help.SKILL, "action")
    assert 12 <= told.days <= 18, "two of the four weeks"
    assert helped(problem, jobs=[last], never=["action"])[last].help != Help.SKILL


def test_the_part_being_here_where_all_wait_for_it():
    task = operation("j1.fit", 8, not_before=MONDAY + timedelta(days=28))
    problem = shop([task])
    uncertainty = Uncertainty({"j1.fit": 0.2}, {"j1.fit": "order 7"})
    told = helped(problem, uncertainty)["j1"]
    assert (told.help, told.what) == (Help.PART, "j1")
    assert told.days >= 28


def test_staying_in_where_the_only_one_is_away():
    away = technician("bram", ("action",), leave=((at(1).date(), at(18).date()),))
    told = helped(shop([operation("j1.a", 32)], technicians=[away]))["j1"]
    assert (told.help, told.what) == (Help.LEAVE, "bram")


def test_another_bench_where_all_stand_at_one():
    tasks = [operation(f"j{number}.a", 24, f"craft {number}", place="bench") for number in (1, 2, 3, 4)]
    people = [technician(f"p{number}", (f"craft {number}",)) for number in (1, 2, 3, 4)]
    problem = shop(tasks, technicians=people, places=Places(4, 1, 1))
    last = max(plan(problem, rounds=0).job_ends(problem).items(), key=lambda one: one[1])[0]
    told = helped(problem, jobs=[last])[last]
    assert (told.help, told.what) == (Help.PLACE, "bench")


def test_half_a_long_task_by_somebody_else_but_a_rest_is_never_cut():
    tasks = [operation("j1.a", 80, wait_hours=2000), operation("j1.b", 2, after=("j1.a",))]
    told = helped(shop(tasks))["j1"]
    assert (told.help, told.what) == (Help.TASK, "j1.a")
    assert told.days <= 9, "half of two weeks, nothing of the rest"


def test_nothing_single_is_said_where_no_change_gains_a_day():
    assert helped(shop([operation("j1.a", 2)])) == {"j1": None}

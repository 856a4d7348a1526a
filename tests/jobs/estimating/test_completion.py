"""Where a job ends, against a simulation of the same assumptions and cases worked out by hand."""

import math
import random

import pytest

from jobs.estimating.calc.completion import TaskSoFar, completion, completion_in_parts, task_end
from jobs.estimating.calc.task_hours import Z80, TaskHours


def task(likely=8.0, logged=0.0, done=False, said=None, spread=0.3):
    return TaskSoFar(TaskHours(likely, likely, likely * math.exp(spread * Z80)), logged, done, said)


def test_a_job_not_begun_ends_where_its_figures_say():
    end = completion([task()] * 10)
    assert end.used == 0
    assert end.likely == pytest.approx(80 * math.exp(0.3**2 / 4))
    assert end.chance_over(end.likely) == pytest.approx(0.5)
    assert end.figure(0.8) > end.likely


def test_a_job_that_runs_slow_is_expected_to_go_on_slower_but_not_quite_as_slow():
    end = completion([task(logged=10.4, done=True)] * 6 + [task()] * 6)
    assert 1 < end.pace < 1.3
    assert end.used == pytest.approx(62.4)
    assert end.to_finish > completion([task()] * 6).to_finish


def test_what_is_finished_is_known():
    end = completion([task(logged=9, done=True)] * 3)
    assert (end.likely, end.to_finish) == (pytest.approx(27), 0)
    assert (end.chance_over(26), end.chance_over(28)) == (1.0, 0.0)
    assert end.figure(0.95) == pytest.approx(27)


def test_an_open_task_that_took_too_long_already_still_needs_something():
    end = completion([task(likely=8, logged=20)])
    assert end.to_finish == pytest.approx(0.8, rel=0.1)


def test_what_a_technician_said_counts():
    assert completion([task(logged=4, said=2.5)]).to_finish == pytest.approx(2.5)
    mixed = completion([task(said=2.5), task()])
    assert mixed.spread < completion([task(), task()]).spread


def test_hours_used_up_are_surely_passed_while_work_is_open():
    assert completion([task(logged=10, done=True), task()]).chance_over(9) == 1.0


def test_a_closed_task_without_hours_counts_at_its_likely_ones_and_tells_nothing_of_the_pace():
    end = completion([task(done=True), task(logged=8.2, done=True), task()])
    assert end.used == pytest.approx(16.2)
    assert end.pace == completion([task(logged=8.2, done=True), task()]).pace


def test_a_mistyped_entry_moves_the_hours_used_but_not_the_pace_much():
    tasks = [task(logged=8, done=True)] * 5 + [task()] * 6
    typed, meant = completion([task(logged=80, done=True), *tasks]), completion([task(logged=8, done=True), *tasks])
    assert typed.used == pytest.approx(meant.used + 72)
    assert typed.pace / meant.pace < 1.2  # 80 h at their face value would make it 1.6
    assert completion([task(logged=800, done=True), *tasks]).pace == pytest.approx(typed.pace)
    assert completion([task(logged=0.01, done=True), *tasks]).pace / meant.pace > 0.85


def test_a_job_that_is_far_off_all_along_is_believed():
    assert completion([task(logged=16, done=True)] * 12 + [task()] * 6).pace > 1.7


def test_nothing_is_nothing():
    assert completion([]).likely == 0
    assert completion([]).chance_over(1) == 0


def test_the_parts_of_a_job_add_up_to_it_and_keep_its_pace():
    parts = {
        "strings": [task(logged=11, done=True), task(likely=5, logged=5.5, done=True), task(done=True)],
        "action": [task(logged=2), task(said=3.5), task(likely=20, spread=0.5)],
        "keys": [task(likely=3)],
    }
    whole = completion([one for tasks in parts.values() for one in tasks], finished=[0.4, -0.2])
    found = completion_in_parts(parts, finished=[0.4, -0.2])
    assert math.fsum(one.used for one in found.values()) == pytest.approx(whole.used, rel=1e-12)
    assert math.fsum(one.to_finish for one in found.values()) == pytest.approx(whole.to_finish, rel=1e-12)
    assert {one.pace for one in found.values()} == {whole.pace}
    assert found["strings"].to_finish == 0
    ends = math.fsum(task_end(one, whole.pace) for tasks in parts.values() for one in tasks)
    assert ends == pytest.approx(whole.likely, rel=1e-12)
    assert completion_in_parts({}) == {}


def test_the_chance_of_passing_is_right_in_simulated_jobs():
    # six tasks done and six to come, each with its own spread, all of a job times one shared factor
    dice = random.Random(11)
    said, passed, jobs = 0.0, 0, 4000
    for _ in range(jobs):
        shared = math.exp(dice.gauss(0, 0.2))
        took = [8 * shared * math.exp(dice.gauss(0, 0.3)) for _ in range(12)]
        end = completion([task(logged=hours, done=True) for hours in took[:6]] + [task()] * 6)
        said += end.chance_over(104)
        passed += sum(took) > 104
    assert said / jobs == pytest.approx(passed / jobs, abs=0.02)

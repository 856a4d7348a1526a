"""Planning again around what people were told."""

from dataclasses import replace
from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.scheduling.calc.check import check
from jobs.scheduling.calc.plan import plan, plan_again
from jobs.scheduling.calc.problem import Previous
from jobs.scheduling.calc.solve import near_moved, near_operations
from jobs.scheduling.calc.solve.replan import calm_budget
from jobs.scheduling.calc.solve.search import Search
from tests.jobs.scheduling.calc.shops import at, operation, shop, shops, technician

SOON = settings(max_examples=8)  # each example takes the time it is given


def some_time_later(problem, data, longer=0):
    """The shop some time into its plan; one task under way may have turned out ``longer`` slots longer."""
    before = plan(problem, rounds=0)
    now = data.draw(st.sampled_from(sorted(work.start for work in before.operations.values())))
    tasks = []
    for task in problem.operations:
        work = before.operations[task.id]
        if longer and task.sessions == 1 and work.start < now < work.end:
            task = replace(task, hours=task.hours + longer * problem.slot_minutes / 60)
        tasks.append(task)
    previous = {key: Previous(work.technician, work.stints) for key, work in before.operations.items()}
    return replace(problem, operations=tuple(tasks), now=now, previous=previous), before


@SOON
@given(shops(), st.data())
def test_every_way_to_plan_again_keeps_every_rule_and_counts_its_moves(problem, data):
    later, _ = some_time_later(problem, data, longer=12)
    points = plan_again(later, seconds=0.2, free=True)
    assert points
    for point in points:
        assert check(later, point.solution) == []
        assert point.moved == near_moved(later, point.solution) <= point.near == len(near_operations(later))
    calmest, earliest = points[0], points[-1]
    assert calmest.moved <= points[1].moved
    assert earliest.name == "earliest"
    for other in (calmest.solution, points[1].solution, plan(later, rounds=0)):
        assert earliest.solution.objective(later) <= other.objective(later)


@SOON
@given(shops(), st.data())
def test_when_nothing_has_changed_nothing_near_need_move(problem, data):
    later, before = some_time_later(problem, data)
    calm = plan_again(later, seconds=0.1)[0]
    assert calm.moved == 0
    for task in near_operations(later):
        assert calm.solution.operations[task.id].start == before.operations[task.id].start


def test_near_means_ten_shop_days_and_moved_means_start_or_technician():
    tasks = [operation(f"j{day}.a", 8) for day in range(14)]
    problem = shop(tasks, technicians=[technician("bram")], holidays=(at(8).date(),))
    before = plan(problem, rounds=0)
    previous = {key: Previous(work.technician, work.stints) for key, work in before.operations.items()}
    now = replace(problem, now=at(1), previous=previous)
    near = near_operations(now)
    assert len(near) == 10  # Tue 5 Jan to Tue 19 Jan 8:00, without the weekends and the holiday
    assert max(previous[task.id].stints[0].start for task in near) < at(16)
    assert near_moved(now, before) == 0
    late = {key: replace(work, technician="corin") for key, work in before.operations.items()}
    assert near_moved(now, replace(before, operations=late)) == 10


def test_only_what_a_longer_task_pushes_is_moved():
    # bram's first task takes a day longer; corin's work and what bram does in a week need not move
    tasks = [
        operation("j1.a", 16, "action"), operation("j1.b", 8, "action", after=("j1.a",)),
        operation("j2.a", 8, "string"), operation("j2.b", 8, "string", after=("j2.a",)),
        operation("j3.a", 8, "action", not_before=at(7).date()),
    ]  # fmt: skip
    people = [technician("bram", ("action",)), technician("corin", ("string",))]
    problem = shop(tasks, technicians=people)
    before = plan(problem, rounds=0)
    previous = {key: Previous(work.technician, work.stints) for key, work in before.operations.items()}
    longer = replace(tasks[0], hours=24)
    later = replace(problem, operations=(longer, *tasks[1:]), now=at(0) + timedelta(hours=1), previous=previous)
    for point in plan_again(later, seconds=0.5):
        moved = {
            task.id
            for task in near_operations(later)
            if point.solution.operations[task.id].start != before.operations[task.id].start
        }
        assert moved == {"j1.b"}


@SOON
@given(shops(), st.data())
def test_stopped_at_once_there_is_still_the_best_of_the_rules(problem, data):
    later, _ = some_time_later(problem, data, longer=12)
    points = plan_again(later, seconds=9, free=True, progress=lambda _: False)
    for point in points:
        assert check(later, point.solution) == []
    assert points[-1].solution.objective(later) <= plan(later, rounds=0).objective(later)
    stopped = plan(problem, seconds=9, progress=lambda _: False)
    assert stopped.objective(problem) <= plan(problem, rounds=0).objective(problem)


def test_where_no_schedule_with_pins_is_found_the_rules_plan_without(monkeypatch):
    tasks = [operation(f"j{number}.a", 8) for number in range(6)]
    problem = shop(tasks, technicians=[technician("bram")])
    before = plan(problem, rounds=0)
    previous = {key: Previous(work.technician, work.stints) for key, work in before.operations.items()}
    later = replace(problem, now=at(1), previous=previous)
    rules = Search.try_rules
    monkeypatch.setattr(Search, "try_rules", lambda self, some, pinned=False: None if pinned else rules(self, some))
    monkeypatch.setattr(Search, "try_present_plan", lambda self, pinned=False: None)
    for point in plan_again(later, seconds=0.1):
        assert check(later, point.solution) == []


def test_the_calm_way_stays_below_a_quarter_of_the_near_operations_if_fewer_will_do():
    for near, fewest in ((total, few) for total in range(1, 120) for few in range(total + 1)):
        budget = calm_budget(fewest, near, days_late=100.0)
        assert fewest <= budget.few <= budget.moves
        assert budget.moves == fewest or budget.moves / near < 0.25

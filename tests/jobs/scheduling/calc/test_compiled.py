"""The compiled list scheduler against its readable twin, and what only the compiled one can do."""

from dataclasses import replace

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from jobs.scheduling.calc.check import check
from jobs.scheduling.calc.plan import plan
from jobs.scheduling.calc.problem import Fixed, Job, Places, Previous
from jobs.scheduling.calc.solve import RULES, NothingCanStart, solve
from jobs.scheduling.calc.solve.builder import NOTHING, Builder, Choice
from jobs.scheduling.calc.solve.compiled import rows as r
from jobs.scheduling.calc.solve.compiled.tables import shop_tables
from jobs.scheduling.calc.solve.list_schedule import ListScheduler
from jobs.scheduling.calc.solve.plain import best_of_rules
from jobs.scheduling.calc.solve.prepared import Prepared
from tests.jobs.scheduling.calc.shops import MONDAY, at, operation, shop, shops, technician


def later(problem, data):
    """The same shop some time into a plan, with an appointment among what is left."""
    before = plan(problem, rounds=0)
    now = data.draw(st.sampled_from(sorted(work.start for work in before.operations.values())))
    key = data.draw(st.sampled_from(sorted(before.operations)))
    work = before.operations[key]
    tasks = [
        replace(task, fixed=Fixed(work.technician, work.start)) if task.id == key and work.start >= now else task
        for task in problem.operations
    ]
    previous = {name: Previous(work.technician, work.stints) for name, work in before.operations.items()}
    return replace(problem, operations=tuple(tasks), now=now, previous=previous)


def twin(prepared, priority, cautious):
    try:
        schedule = ListScheduler(prepared, priority, cautious=cautious).run()
    except NothingCanStart:
        return None
    return schedule.starts, schedule.people, schedule.broken_appointments


def compiled(prepared, priority, cautious, ahead=None, people=None):
    shop_ = shop_tables(prepared, [])
    builder = Builder(shop_)
    wish = np.array([ahead or [0] * len(priority), people or [r.NONE] * len(priority)], dtype=np.int64)
    choice = Choice(np.array(priority), wish, np.zeros(0, dtype=np.int64), cautious)
    if builder.cost(choice) >= NOTHING:
        return None
    state = builder.state
    return state.piece[r.START].tolist(), state.piece[r.WHO].tolist(), int(state.tally[r.BROKEN])


@given(shops(), st.booleans(), st.booleans(), st.data())
def test_the_same_priorities_give_the_same_schedule_as_in_plain_python(problem, into_it, cautious, data):
    prepared = Prepared(later(problem, data) if into_it else problem)
    size = len(problem.operations)
    priority = data.draw(st.lists(st.integers(0, 6).map(float), min_size=size, max_size=size))
    assert compiled(prepared, priority, cautious) == twin(prepared, priority, cautious)


@given(shops(), st.data())
def test_a_schedule_with_starts_booked_ahead_and_people_waited_for_keeps_every_rule(problem, data):
    prepared = Prepared(problem)
    size = len(problem.operations)
    priority = data.draw(st.lists(st.floats(0, 9), min_size=size, max_size=size))
    ahead = data.draw(st.lists(st.integers(0, 40), min_size=size, max_size=size))
    able = [[r.NONE, *prepared.able[skill]] for skill in prepared.skill]
    people = [data.draw(st.sampled_from(who)) for who in able]
    found = compiled(prepared, priority, False, ahead, people)
    assert found is not None
    assert check(problem, prepared.solution(found[0], found[1], "")) == []


def test_a_technician_is_left_idle_on_purpose_when_that_pays():
    # While bram begins j2's long task, j1's second one becomes ready an hour later and has to wait three days.
    tasks = [
        operation("j1.first", 1, "string"),
        operation("j1.second", 1, "action", after=("j1.first",)),
        operation("j2.long", 24, "action"),
    ]
    people = [technician("bram", ("action",)), technician("corin", ("string",))]
    jobs = [Job("j1", 5, MONDAY), Job("j2", 1, at(3).date())]
    problem = shop(tasks, technicians=people, jobs=jobs)
    assert plan(problem, rounds=0).weighted_days_late(problem) > 0
    idle = plan(problem, rounds=200)
    assert idle.weighted_days_late(problem) == 0
    assert idle.operations["j2.long"].start == at(0, "10:00")


@given(shops())
def test_the_search_is_never_worse_than_the_best_simple_rule_in_plain_python(problem):
    rules = best_of_rules(Prepared(problem), RULES)
    assert plan(problem, rounds=20).objective(problem) <= rules.objective(problem)


def test_without_compiled_code_a_page_gets_the_best_simple_rule(monkeypatch):
    tasks = [operation(f"j{number}.a", 3 + number % 4, place="bench") for number in range(12)]
    problem = shop(tasks, places=Places(12, 2, 1))
    monkeypatch.setattr("jobs.scheduling.calc.solve.solver.is_warm", lambda: False)
    quick = solve(problem, may_compile=False)
    assert quick.made_by in {rule.name for rule in RULES}
    assert check(problem, quick) == []

import numpy as np
import pytest
from hypothesis import given, settings

from jobs.scheduling.calc.solve.standard import lower_bound, solve_project, warm_up
from jobs.scheduling.calc.solve.standard.genetic import Island, first_schedule
from jobs.scheduling.calc.solve.standard.network import network
from jobs.scheduling.calc.solve.standard.standing import Standing
from jobs.scheduling.calc.standard import StandardProject, broken_rules, makespan, project_read
from tests.jobs.scheduling.calc.projects import (
    OPTIMUM,
    PATTERSON,
    PROVEN,
    least_makespan,
    small_projects,
    two_instruments,
)


@pytest.fixture(scope="module", autouse=True)
def _compiled():
    warm_up()


def test_the_slow_search_agrees_with_the_optimum_reasoned_by_hand():
    assert least_makespan(project_read(PATTERSON, "ours")) == OPTIMUM


@given(small_projects())
@settings(max_examples=60, deadline=None)
def test_a_small_project_is_proved_at_the_makespan_of_all_orders(project):
    found = solve_project(project, 10)
    assert broken_rules(project, found.starts) == []
    assert (found.makespan, found.bound, found.proved) == (least_makespan(project), found.makespan, True)
    assert makespan(project, found.starts) == found.makespan


@given(small_projects())
@settings(max_examples=60, deadline=None)
def test_the_search_alone_keeps_every_rule_and_reaches_the_optimum(project):
    arrays = network(project)
    standing = Standing(*first_schedule(arrays), bound=least_makespan(project), seconds=10)
    Island(arrays, standing, 3).run()
    assert broken_rules(project, arrays.starts_by_number(standing.starts)) == []
    assert standing.proved


@given(small_projects())
@settings(max_examples=60, deadline=None)
def test_no_bound_is_above_the_optimum(project):
    assert lower_bound(project, network(project)) <= least_makespan(project)


@pytest.mark.parametrize(("capacities", "days"), PROVEN)
def test_two_instruments_take_their_proven_days(capacities, days):
    found = solve_project(two_instruments(capacities), 10)
    assert (found.makespan, found.proved) == (days, True)


def big(seed, size=80):
    draw = np.random.default_rng(seed)
    followers = [
        tuple(sorted({int(one) for one in draw.integers(number + 1, min(number + 12, size) + 1, 2)}))
        if number < size
        else ()
        for number in range(1, size + 1)
    ]
    demands = tuple(tuple(int(one) for one in row) for row in draw.integers(0, 9, (size, 9)))
    return StandardProject("big", tuple(map(int, draw.integers(0, 9, size))), demands, tuple(followers), (11,) * 9)


def test_many_resources_over_several_words_keep_every_rule():
    project = big(5)
    project = StandardProject(
        "wide",
        project.durations,
        tuple(tuple(10**9 * need for need in needs) for needs in project.demands),
        project.followers,
        tuple(10**9 * capacity for capacity in project.capacities),
    )
    assert network(project).net[1].shape[1] > 1
    wide, narrow = solve_project(project, 0.5), solve_project(big(5), 0.5)
    assert wide.bound <= wide.makespan
    assert abs(wide.makespan - narrow.makespan) <= 0.03 * narrow.makespan


def test_the_seconds_are_kept_and_a_bound_below_the_makespan_is_no_proof():
    found = solve_project(big(7, 200), 0.6)
    assert found.seconds < 3
    assert found.proved == (found.makespan == found.bound)
    assert found.bound <= found.makespan


def test_the_checker_finds_each_planted_mistake():
    project = project_read(PATTERSON, "ours")
    good = list(solve_project(project, 10).starts)
    assert broken_rules(project, good) == []
    early = [good[0], *good[1:]]
    early[3] = good[1]
    assert any("Activity 4 starts at" in sentence for sentence in broken_rules(project, early))
    together = [0, 0, 0, 4, 4, 9]
    assert broken_rules(project, together) == [
        "In period 0 resource 1 is used 4 times; there are 3.",
        "In period 4 resource 2 is used 3 times; there are 2.",
    ]
    assert broken_rules(project, [-1, *good[1:]]) == ["Activity 1 starts before the beginning."]
    assert broken_rules(project, good[:-1]) == ["The schedule has 5 starts for 6 activities."]

from datetime import date

import networkx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.scheduling.calc.critical_path import Activity, critical_path, job_alone, three_point
from tests.jobs.scheduling.calc.networks import J301_1, NETWORKS
from tests.jobs.scheduling.calc.shops import operation, shop

ROUNDED = 5e-4  # the sources print four decimals, and sums of them


def worked_out(network):
    activities = []
    for row in network.rows:
        mean, variance = three_point(*row.estimates)
        activities.append(Activity(row.id, mean, tuple(row.after), variance=variance))
    return critical_path(activities)


@pytest.mark.parametrize("network", NETWORKS, ids=lambda network: network.name)
def test_a_published_network_gives_its_published_answer(network):
    path = worked_out(network)
    assert path.duration == pytest.approx(network.duration, abs=ROUNDED)
    assert "".join(path.critical) == network.critical
    assert path.variance == pytest.approx(network.variance, abs=ROUNDED)


@pytest.mark.parametrize(
    ("network", "row"), [(network, row) for network in NETWORKS for row in network.rows], ids=lambda x: x[0]
)
def test_each_activity_has_its_published_times_and_floats(network, row):
    times = worked_out(network).times[row.id]
    found = (
        times.earliest_start,
        times.earliest_finish,
        times.latest_start,
        times.latest_finish,
        times.total_float,
        times.free_float,
    )
    assert found == pytest.approx(row.times, abs=ROUNDED)


def test_the_chance_of_a_date_is_the_textbooks():
    construction, fourteen = NETWORKS[0], NETWORKS[2]
    # Hillier & Lieberman: 44 weeks, variance 9, so 47 weeks is one deviation away (from memory)
    assert worked_out(construction).chance_within(47) == pytest.approx(0.8413, abs=5e-5)
    assert worked_out(fourteen).chance_within(55) == pytest.approx(0.8935, abs=5e-5)


def test_without_variance_a_date_is_kept_or_not():
    path = critical_path([Activity("a", 3), Activity("b", 2, ("a",))])
    assert (path.chance_within(4.9), path.chance_within(5)) == (0.0, 1.0)


def test_all_best_and_all_worst_estimates_give_the_textbook_ends():
    # Hillier & Lieberman, the construction example: 26 and 70 weeks (from memory)
    for position, expected in ((0, 26), (2, 70)):
        rows = NETWORKS[0].rows
        path = critical_path(Activity(row.id, row.estimates[position], tuple(row.after)) for row in rows)
        assert path.duration == expected


def test_the_standard_problem_j301_1_is_38_days_long_without_resources():
    befores = {key: [] for key in J301_1}
    for key, (_, followers) in J301_1.items():
        for follower in followers:
            befores[follower].append(str(key))
    path = critical_path(Activity(str(key), J301_1[key][0], tuple(befores[key])) for key in J301_1)
    assert path.duration == 38


def longest_path(activities):
    """Earliest finishes by networkx: longest weighted path from one source, with lags on the edges."""
    graph = networkx.DiGraph()
    for activity in activities:
        graph.add_edge("begin", ("start", activity.id), weight=0)
        graph.add_edge(("start", activity.id), ("end", activity.id), weight=activity.duration)
        graph.add_edge(("end", activity.id), "end", weight=0)
        for before in activity.after:
            lag = next(one.lag for one in activities if one.id == before)
            graph.add_edge(("end", before), ("start", activity.id), weight=lag)
    return networkx.dag_longest_path_length(graph), graph


@given(st.data())
def test_random_networks_agree_with_networkx(data):
    activities = []
    for number in range(data.draw(st.integers(1, 12))):
        befores = data.draw(st.sets(st.sampled_from(activities), max_size=3)) if activities else set()
        activities.append(
            Activity(
                str(number),
                data.draw(st.integers(0, 20)),
                tuple(sorted(one.id for one in befores)),
                lag=data.draw(st.integers(0, 5)),
            )
        )
    path = critical_path(activities)
    length, graph = longest_path(activities)
    assert path.duration == length
    for activity in activities:
        times = path.times[activity.id]
        # through an activity without float runs a longest path, and only through those
        ancestors = graph.subgraph(networkx.ancestors(graph, ("start", activity.id)) | {("start", activity.id)})
        assert times.earliest_start == networkx.dag_longest_path_length(ancestors)
        later = graph.subgraph(networkx.descendants(graph, ("end", activity.id)) | {("end", activity.id)})
        assert length - times.latest_finish == networkx.dag_longest_path_length(later)
        assert 0 <= times.free_float <= times.total_float


def test_a_circle_and_an_unknown_predecessor_are_named():
    with pytest.raises(ValueError, match="a, b wait for each other in a circle"):
        critical_path([Activity("a", 1, ("b",)), Activity("b", 1, ("a",))])
    with pytest.raises(ValueError, match="a comes after z"):
        critical_path([Activity("a", 1, ("z",))])


def test_estimates_must_rise():
    with pytest.raises(ValueError, match="do not rise"):
        three_point(3, 2, 4)


def test_a_job_alone_counts_shop_hours_over_the_week_and_waits_by_the_clock():
    problem = shop(
        [
            operation("j1.strip", 8, wait_hours=48),
            operation("j1.spray", 4, after=("j1.strip",)),
            operation("j2.other", 80),
        ]
    )
    # 40 shop hours fill a week of 168: 8 h are 33.6, 4 h are 16.8
    assert job_alone(problem, "j1").duration == pytest.approx(33.6 + 48 + 16.8)
    assert problem.start == date(2027, 1, 4)

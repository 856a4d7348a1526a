"""Hours of a bundle against figures computed from the written rule.

The check figures are computed, no source. What is independent of the project: the normal percentile
(Python's statistics module) and a simulation of the same assumptions.
"""

import math
import random
from statistics import NormalDist, fmean, quantiles

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.estimating.calc.bundle import BundleHours, Calibration, bundle_hours, hours_between
from jobs.estimating.calc.piles import pile_percentiles
from jobs.estimating.calc.task_hours import Z80, TaskHours, task_hours_from_norm

TWELVE = [TaskHours(6.6, 6.6, 6.6 * math.exp(0.3 * Z80)) for _ in range(12)]  # computed, no source


@pytest.mark.parametrize(
    ("what", "expected", "digits"),
    [
        (lambda b: b.sum_likely, 79.2, 1),
        (lambda b: b.mean, 81.0, 1),
        (lambda b: b.own_spread, 0.089, 3),
        (lambda b: b.spread, 0.219, 3),
        (lambda b: b.figure(0.80), 97.4, 1),
        (lambda b: b.figure(0.90), 107.2, 1),
        (lambda b: b.figure(0.95), 116.1, 1),
    ],
)
def test_twelve_tasks_give_the_check_figures(what, expected, digits):
    assert round(what(bundle_hours(TWELVE)), digits) == expected


def test_the_first_80_percent_figure_is_1_34_times_the_norm():
    hours = task_hours_from_norm(12, low=8, high=20)
    assert hours.likely == 12
    assert hours.figure_80 / 12 == pytest.approx(1.34, abs=0.005)
    assert hours.spread == pytest.approx(0.35)


@pytest.mark.parametrize("norm", [(0, 1, 2), (2, 1, 3), (1, 3, 2), (1, math.nan, 2), (1, 2, math.inf)])
def test_a_norm_out_of_order_is_refused(norm):
    low, likely, high = norm
    with pytest.raises(ValueError, match="rising order"):
        task_hours_from_norm(likely, low=low, high=high)


def test_the_80_percent_figure_holds_in_eight_of_ten_simulated_jobs():
    # tasks lognormal with their own spread, all of a job times one shared lognormal factor
    dice = random.Random(7)
    bundle = bundle_hours(TWELVE)
    jobs = 6000
    held = sum(
        math.exp(dice.gauss(0, 0.2)) * sum(6.6 * math.exp(dice.gauss(0, 0.3)) for _ in range(12)) <= bundle.figure_80
        for _ in range(jobs)
    )
    # four standard errors of a share of 0.8
    assert held / jobs == pytest.approx(0.8, abs=4 * math.sqrt(0.16 / jobs))


def test_the_sum_lies_between_independent_and_fully_shared():
    bundle = bundle_hours(TWELVE)
    assert (
        bundle_hours(TWELVE, calibration=Calibration(tau=0)).figure_80
        < bundle.figure_80
        < sum(task.figure_80 for task in TWELVE)
    )


def test_with_a_lift_of_a_half_the_sum_is_that_of_lognormal_means():
    # mean of a lognormal with median h and spread s: h·exp(s²/2), here by integrating over its percentiles
    steps = [NormalDist().inv_cdf((i - 0.5) / 20_000) for i in range(1, 20_001)]
    mean = fmean(6.6 * math.exp(0.3 * z) for z in steps)
    assert bundle_hours(TWELVE, calibration=Calibration(lift=0.5)).mean == pytest.approx(12 * mean, rel=1e-4)
    assert bundle_hours(TWELVE, calibration=Calibration(lift=0)).mean == pytest.approx(12 * 6.6)


def test_finished_quotes_that_ran_over_widen_the_figure():
    assert bundle_hours(TWELVE, finished=[2.0] * 30).figure_80 > bundle_hours(TWELVE).figure_80
    assert bundle_hours(TWELVE, finished=[-2.0] * 30).likely < bundle_hours(TWELVE).likely


def test_an_outcome_put_back_gives_the_logged_hours():
    bundle = bundle_hours(TWELVE)
    assert bundle.mean * math.exp(bundle.spread * bundle.outcome(100)) == pytest.approx(100)


def test_nothing_to_do_takes_no_hours():
    assert bundle_hours([]).figure_80 == 0
    with pytest.raises(ValueError, match="above nought"):
        bundle_hours([]).outcome(3)


@pytest.mark.parametrize("chance", [0, 1, -0.2, 1.5])
def test_a_chance_outside_nought_and_one_is_refused(chance):
    with pytest.raises(ValueError, match="between 0 and 1"):
        BundleHours(1, 1, 1, 0.1, 0.2).figure(chance)


@given(st.lists(st.floats(-5, 5), min_size=2, max_size=40))
def test_percentiles_of_equal_weights_are_the_inclusive_mid_points(values):
    # statistics.quantiles with 2n parts puts its odd cuts at the mid-points of the rule
    middles = [(i + 0.5) / len(values) for i in range(len(values))]
    ones = [1.0] * len(values)
    assert list(pile_percentiles(values, ones, middles)) == pytest.approx(sorted(values))
    assert pile_percentiles(values, ones, [0.5])[0] == pytest.approx(quantiles(values, n=2)[0])


def task(code, hours, spread=0.35):
    return TaskHours(hours, hours, hours * math.exp(spread * Z80), code)


def test_shared_work_cancels_with_its_uncertainty():
    shared = [task("rg-fine", 13.5), task("tn-fine", 2)]
    between = hours_between([*shared, task("cs-revive", 11)], [*shared, task("cs-french", 75)])
    alone = hours_between([task("cs-revive", 11)], [task("cs-french", 75)])
    assert between == alone
    assert (between.only_first, between.only_second) == (11, 75)
    assert between.figure(0.5) == pytest.approx(64 * math.exp(0.35**2 / 4))


def test_a_scope_compared_with_itself_differs_by_nothing():
    scope = [task("rg-fine", 13.5), task("tn-fine", 2)]
    assert hours_between(scope, scope).spread == 0
    assert hours_between(scope, scope).likely == 0


def test_the_difference_turns_round():
    one, two = [task("a", 3), task("b", 4)], [task("b", 6), task("c", 1)]
    assert hours_between(one, two).likely == pytest.approx(-hours_between(two, one).likely)
    assert hours_between(one, two).spread == pytest.approx(hours_between(two, one).spread)


def test_the_same_code_twice_is_refused():
    with pytest.raises(ValueError, match="twice"):
        hours_between([task("a", 3), task("a", 4)], [])

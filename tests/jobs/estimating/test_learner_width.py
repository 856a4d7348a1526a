"""More logs never widen a figure without cause, whatever is logged already.

What cause is: a figure rises only for hours above it and falls only for hours below it; the range between figures
grows only for hours that lie apart from what was expected. Hours as expected, one or thirty, never widen it. That is
what a mixture of distributions does (the learner's update is one, see ``calc/learner.py``): mass put where v is
brings every percentile nearer to v. The piles are drawn as straight lines between points, and a new point bends the
line it falls on, so a figure may stand where it stood half a log further along the pile, which weighs ten logs at
least: ``HALF_A_LOG``, 5 in 100. That is no way to widen for good: 30 logs as expected narrow the range plainly.
"""

import math
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from jobs.estimating.calc.learner import WORKSHOP, Learner, Log
from tests.jobs.estimating.test_learner import LOGS, MINE, TODAY

HALF_A_LOG = 0.5 / 10
ROUNDED = 1 + 1e-6
NORM = 12.0


def forecast(logs):
    return Learner(WORKSHOP, logs).forecast(norm=NORM, today=TODAY, marks=MINE)


def mine(hours, times=1):
    return [Log(10_000 + place, "ka", "me", NORM, hours, TODAY) for place in range(times)]


@settings(max_examples=80)
@given(LOGS, st.integers(1, 30))
def test_hours_as_expected_never_widen_the_range(logs, times):
    before = forecast(logs)
    after = forecast(logs + mine(before.figure(0.5), times))
    for low, high in ((0.5, 0.8), (0.1, 0.9)):
        assert after.figure(high) <= before.figure(high + HALF_A_LOG) * ROUNDED
        assert after.figure(low) >= before.figure(low - HALF_A_LOG) / ROUNDED


@settings(max_examples=40)
@given(LOGS)
def test_many_hours_as_expected_narrow_it(logs):
    before = forecast(logs)
    after = forecast(logs + mine(before.figure(0.5), 60))
    assert after.figure(0.8) / after.figure(0.5) <= before.figure(0.8) / before.figure(0.5) * ROUNDED
    assert after.figure(0.9) / after.figure(0.1) <= before.figure(0.9) / before.figure(0.1) * ROUNDED


@settings(max_examples=80)
@given(LOGS, st.sampled_from([0.5, 0.8]), st.floats(0, 2), st.integers(1, 5))
def test_hours_under_a_figure_never_raise_it_and_hours_over_it_never_lower_it(logs, confidence, off, times):
    before = forecast(logs)
    figure = before.figure(confidence)
    under = forecast(logs + mine(figure * math.exp(-off), times)).figure(confidence)
    over = forecast(logs + mine(figure * math.exp(off), times)).figure(confidence)
    assert under <= before.figure(confidence + HALF_A_LOG) * ROUNDED
    assert over >= before.figure(confidence - HALF_A_LOG) / ROUNDED


@settings(max_examples=40)
@given(LOGS)
def test_hours_far_apart_are_a_cause(logs):
    """The other side of it: many hours beyond both ends of what was expected do widen the range."""
    before = forecast(logs)
    low, high = before.figure(0.1), before.figure(0.9)
    assume(high / low > 1.2)
    apart = mine(low / 1.3, 40) + [replace(log, ident=log.ident + 100) for log in mine(high * 1.3, 40)]
    after = forecast(logs + apart)
    assert after.figure(0.9) / after.figure(0.1) > before.figure(0.9) / before.figure(0.1)


@pytest.mark.parametrize("confidence", [0.5, 0.8])
def test_a_log_over_a_figure_does_raise_it(confidence):
    figure = forecast(mine(NORM, 5)).figure(confidence)
    more = [replace(log, ident=log.ident + 100) for log in mine(figure * 1.2, 12)]
    assert forecast(mine(NORM, 5) + more).figure(confidence) > figure

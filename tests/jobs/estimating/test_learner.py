"""The learner against the written rule's test vectors, numpy's percentiles and properties any learner must have.

The vectors are computed, no source. Independent of the project: numpy's percentiles by Hazen's rule, the normal
percentile of Python's statistics module.
"""

import math
from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.estimating.calc.learner import WORKSHOP, Constants, Learner, Level, Log
from jobs.estimating.calc.piles import pile_percentiles

TODAY = 20_000
ME = {"kind": "bush", "technician": "me"}
OWN = [11.5, 12.8, 13.0, 13.9, 14.6, 15.8, 16.4]
SIXTY = [
    Log(i, "other work", "a colleague", 5.0, 5.0 * math.exp(0.3 * NormalDist().inv_cdf((i - 0.5) / 60)), TODAY)
    for i in range(1, 61)
]


def own(hours, who="me", norm=12.0, day=TODAY):
    return [Log(1000 + i, "bush", who, norm, each, day) for i, each in enumerate(hours)]


def figures(logs, *confidences, norm=12.0, constants=WORKSHOP, today=TODAY, marks=ME):
    forecast = Learner(constants, logs).forecast(norm=norm, today=today, marks=marks)
    return [forecast.figure(confidence) for confidence in confidences or (0.1, 0.5, 0.8, 0.9, 0.95)]


@pytest.mark.parametrize(
    ("logs", "expected"),
    [
        pytest.param([], [7.65, 12.00, 16.12, 18.81, 21.43], id="nothing logged in the shop"),
        pytest.param(SIXTY, [8.12, 12.00, 15.50, 17.73, 19.73], id="60 other tasks, none of this kind"),
        pytest.param(SIXTY + own(OWN[:1]), [8.38, 11.51, 14.83, 17.19, 19.35], id="1 own log"),
        pytest.param(SIXTY + own(OWN[:3]), [9.03, 12.76, 13.47, 15.95, 18.24], id="3 own logs"),
        pytest.param(SIXTY + own(OWN), [10.38, 13.55, 15.80, 16.40, 16.55], id="7 own logs"),
        pytest.param(SIXTY + own([*OWN[:6], 164]), [10.38, 13.55, 15.80, 24.01, 27.33], id="the 7th mistyped"),
        pytest.param(SIXTY + own(OWN, who="Edda"), [9.15, 13.01, 15.80, 16.44, 17.96], id="a colleague logged them"),
    ],
)
def test_the_piles_give_the_vectors_of_the_rule(logs, expected):
    assert [round(figure, 2) for figure in figures(logs)] == expected


def test_the_evidence_says_whose_logs_speak():
    mine = Learner(WORKSHOP, SIXTY + own(OWN)).forecast(norm=12, today=TODAY, marks=ME)
    assert (mine.logs, round(mine.least, 1), round(mine.most, 1)) == (7, 11.5, 16.4)
    assert mine.shares == ("kind", "technician")
    theirs = Learner(WORKSHOP, SIXTY + own(OWN, who="Edda")).forecast(norm=12, today=TODAY, marks=ME)
    assert (theirs.logs, theirs.shares) == (7, ("kind",))
    nobody = Learner(WORKSHOP, SIXTY).forecast(norm=12, today=TODAY, marks=ME)
    assert (nobody.logs, nobody.shares, nobody.least) == (0, (), None)


def test_a_mistyped_entry_is_named_and_moves_neither_figure():
    learner = Learner(WORKSHOP, SIXTY + own([*OWN[:6], 164]))
    [suspect] = learner.suspects(TODAY)
    assert (suspect.ident, suspect.hours) == (1006, 164)
    assert suspect.limit_hours < 30
    assert figures(SIXTY + own([*OWN[:6], 164]), 0.5, 0.8) == pytest.approx(figures(SIXTY + own(OWN), 0.5, 0.8))


def test_nothing_is_suspected_of_ordinary_hours():
    assert Learner(WORKSHOP, own(OWN)).suspects(TODAY) == []


def test_the_outcomes_of_a_kind_or_a_person_are_told_oldest_first():
    logs = [replace(log, day=TODAY - log.ident % 7) for log in own(OWN)] + [
        replace(log, ident=log.ident + 50, first_time=True) for log in own([40, 44])
    ]
    learner = Learner(WORKSHOP, SIXTY + logs)
    days = {hours: TODAY - (1000 + place) % 7 for place, hours in enumerate(OWN)}
    expected = [hours / 12 for hours in sorted(OWN, key=lambda hours: days[hours])]
    assert learner.outcomes({"kind": "bush"}) == pytest.approx(expected)
    assert learner.outcomes(ME) == pytest.approx(expected)
    assert learner.outcomes(ME, TODAY - 2) == pytest.approx(expected[:5])
    assert learner.outcomes({"kind": "bush", "technician": "Edda"}) == []
    with pytest.raises(ValueError, match="No level"):
        learner.outcomes({"colour": "red"})


def test_first_times_are_left_out():
    assert figures([*SIXTY, *(replace(log, first_time=True) for log in own([40, 44]))]) == figures(SIXTY)


def test_old_logs_fade_to_half_in_a_half_life():
    # eight equal logs a year old are a share 8/2 of 8/2 + 8: the pile's step lies where four fresh ones put it
    shop_only = Constants(levels=(Level((), 8.0),), clip=9.0)
    old, fresh = own([20.0] * 8, day=TODAY - 365), own([20.0] * 4)
    below = Learner(shop_only, old).forecast(norm=12, today=TODAY, marks=ME)
    beside = Learner(shop_only, fresh).forecast(norm=12, today=TODAY, marks=ME)
    for confidence in (0.1, 0.3, 0.5, 0.98):  # away from the edges of the step, which follow the single weight
        assert below.figure(confidence) == pytest.approx(beside.figure(confidence), rel=0.01)


@given(st.lists(st.floats(-3, 3), min_size=1, max_size=60), st.floats(0.01, 0.99))
def test_equal_weights_give_numpys_percentiles_by_hazens_rule(values, confidence):
    ours = pile_percentiles(values, [1.0] * len(values), [confidence])[0]
    assert ours == pytest.approx(float(np.quantile(values, confidence, method="hazen")), abs=1e-9)


@given(st.lists(st.tuples(st.floats(-3, 3), st.integers(1, 4)), min_size=1, max_size=20), st.randoms())
def test_the_order_of_points_and_a_common_factor_of_weights_are_irrelevant(points, rng):
    confidences = [0.1, 0.5, 0.8]
    values, weights = zip(*points, strict=True)
    as_given = pile_percentiles(values, weights, confidences)
    rng.shuffle(points)
    values, weights = zip(*points, strict=True)
    assert pile_percentiles(values, [7.0 * weight for weight in weights], confidences) == pytest.approx(as_given)


@pytest.mark.parametrize(("values", "weights"), [([], []), ([1.0], [0.0]), ([1.0, 2.0], [1.0, -1.0])])
def test_a_pile_of_nothing_has_no_percentile(values, weights):
    with pytest.raises(ValueError, match="above nought"):
        pile_percentiles(values, weights, [0.5])


LOGS = st.lists(
    st.builds(
        lambda kind, who, norm, y, age: ("k" + kind, who, norm, norm * math.exp(y), TODAY - age),
        st.sampled_from("ab"),
        st.sampled_from(["me", "Edda", "Bram"]),
        st.floats(0.2, 60),
        st.floats(-1.5, 1.5),
        st.integers(0, 900),
    ),
    max_size=25,
).map(lambda rows: [Log(i, *row) for i, row in enumerate(rows)])
MINE = {"kind": "ka", "technician": "me"}


APART = Constants(levels=(Level((), 8.0), Level(("kind",), 10.0), Level(("technician",), 10.0, apart=("kind",))))
SOME = st.sampled_from([WORKSHOP, APART])


@settings(max_examples=60)
@given(LOGS, SOME, st.randoms())
def test_the_order_in_which_logs_arrive_is_irrelevant(logs, constants, rng):
    at_once = figures(logs, constants=constants, marks=MINE)
    rng.shuffle(logs)
    learner = Learner(constants, logs[:5])
    for log in logs[5:]:
        learner.forecast(norm=12, today=TODAY, marks=MINE)
        learner.add([log])
    one_by_one = learner.forecast(norm=12, today=TODAY, marks=MINE)
    assert [one_by_one.figure(p) for p in (0.1, 0.5, 0.8, 0.9, 0.95)] == pytest.approx(at_once, rel=1e-9)


@settings(max_examples=60)
@given(LOGS, SOME, st.floats(0.1, 10))
def test_all_hours_in_another_unit_give_the_same_figures_in_that_unit(logs, constants, factor):
    scaled = [replace(log, norm=log.norm * factor, hours=log.hours * factor) for log in logs]
    expected = [factor * figure for figure in figures(logs, constants=constants, marks=MINE)]
    assert figures(scaled, norm=12 * factor, constants=constants, marks=MINE) == pytest.approx(expected, rel=1e-6)


@settings(max_examples=60)
@given(LOGS)
def test_figures_rise_with_the_confidence(logs):
    found = figures(logs, 0.05, 0.3, 0.5, 0.8, 0.95, marks=MINE)
    assert found == sorted(found)
    assert all(math.isfinite(figure) and figure > 0 for figure in found)


@pytest.mark.parametrize("y", [-0.3, 0.0, 0.3])
def test_logs_that_agree_narrow_the_range_step_by_step(y):
    spans = []
    for count in (0, 5, 10, 20, 40, 80):
        low, high = figures(own([12 * math.exp(y)] * count), 0.1, 0.9)
        spans.append(high / low)
    assert spans[1:] == sorted(spans[1:], reverse=True)
    assert spans[-1] < spans[0] / 1.2


def test_a_shop_of_equal_logs_still_hears_a_person_who_differs():
    same = [Log(i, "bush", "Edda", 12, 12, TODAY) for i in range(300)]
    mine = [Log(1000 + i, "bush", "me", 12, 13.2, TODAY) for i in range(30)]
    assert figures([*same, *mine], 0.5)[0] == pytest.approx(13.2, rel=0.01)


def test_tasks_about_as_long_count_more_where_a_width_is_set():
    sized = Constants(levels=(Level((), 8.0, 0.5),))
    logs = [Log(i, "a", "me", 1, 2, TODAY) for i in range(50)] + [
        Log(100 + i, "a", "me", 40, 30, TODAY) for i in range(50)
    ]
    assert figures(logs, 0.5, norm=1, constants=sized)[0] == pytest.approx(2, rel=0.02)
    assert figures(logs, 0.5, norm=40, constants=sized)[0] == pytest.approx(30, rel=0.02)


def shop_of_habits(times, *, skip=()):
    """Three kinds of work, each with a habit of its own; whoever is named takes so many times what all others take."""
    habits, spread = (
        {"ka": 2.0, "kb": 0.5, "kc": 0.8},
        [0.25 * NormalDist().inv_cdf((i - 0.5) / 20) for i in range(1, 21)],
    )
    rows = [
        (kind, who, 3.0, 3.0 * habit * times.get(who, 1.0) * math.exp(y), TODAY)
        for kind, habit in habits.items()
        for who in ("me", *(f"colleague {i}" for i in range(12)))
        if (kind, who) not in skip
        for y in spread
    ]
    return [Log(i, *row) for i, row in enumerate(rows)]


@pytest.mark.parametrize("times", [1.3, 1.0, 0.8])
def test_what_somebody_takes_at_other_work_speaks_without_that_works_habit(times):
    logs = shop_of_habits({"me": times}, skip=[("kc", "me")])
    asked = {"kind": "kc", "technician": "me"}
    heard = replace(APART, levels=(*APART.levels[:2], replace(APART.levels[2], kappa=1.0)))
    assert figures(logs, 0.5, norm=3, constants=heard, marks=asked)[0] == pytest.approx(3 * 0.8 * times, rel=0.03)
    assert figures(logs, 0.5, norm=3, marks=asked)[0] == pytest.approx(3 * 0.8, rel=0.03)  # the workshop's own levels


def test_nobody_is_suspected_where_kinds_of_work_have_habits():
    assert Learner(APART, shop_of_habits({"me": 1.2})).suspects(TODAY) == []
    mistyped = Log(9999, "kb", "me", 3.0, 30.0, TODAY)
    [suspect] = Learner(APART, [*shop_of_habits({"me": 1.2}), mistyped]).suspects(TODAY)
    assert suspect.ident == 9999
    assert 1.5 * 1.2 < suspect.limit_hours < 4


def test_a_level_apart_from_what_none_before_it_shares_is_refused():
    wrong = Constants(levels=(Level((), 8.0), Level(("technician",), 10.0, apart=("kind",)), Level(("kind",), 10.0)))
    with pytest.raises(ValueError, match="No level before technician shares kind"):
        Learner(wrong)


@pytest.mark.parametrize(("norm", "hours"), [(0, 1), (1, 0), (-1, 1), (1, math.nan), (math.inf, 1)])
def test_hours_that_cannot_be_are_refused_and_nothing_is_kept(norm, hours):
    learner = Learner()
    with pytest.raises(ValueError, match="above nought"):
        learner.add([Log(1, "a", "me", 1, 1, TODAY), Log(2, "a", "me", norm, hours, TODAY)])
    assert len(learner) == 0


def test_a_log_is_taken_in_once():
    learner = Learner(WORKSHOP, own(OWN))
    with pytest.raises(ValueError, match="known already"):
        learner.add(own(OWN[:1]))
    with pytest.raises(ValueError, match="between 0 and 1"):
        learner.forecast(norm=1, today=TODAY, marks=ME).figure(1)
    with pytest.raises(ValueError, match="above nought"):
        learner.forecast(norm=0, today=TODAY, marks=ME)

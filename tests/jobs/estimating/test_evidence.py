"""What hours say about norms, and how often figures held.

The sign test is checked against a table: two-sided 5 % points of Dixon and Mood (from memory: of 10 cases, at most 1 on
one side; of 20, at most 5; of 8, none).
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.estimating.calc.evidence import holding, norm_proposal, one_sided_by_luck, rounded_norm
from jobs.estimating.picture import Dot, pictures_of


@pytest.mark.parametrize(("cases", "most"), [(8, 0), (10, 1), (20, 5)])
def test_the_sign_test_agrees_with_its_table(cases, most):
    assert one_sided_by_luck(most, cases - most) <= 0.05
    assert one_sided_by_luck(most + 1, cases - most - 1) > 0.05


@given(st.integers(0, 60), st.integers(0, 60))
def test_the_luck_of_a_split_is_a_chance_and_knows_no_side(above, below):
    assert 0 < one_sided_by_luck(above, below) <= 1
    assert one_sided_by_luck(above, below) == one_sided_by_luck(below, above)


def test_many_cases_do_not_break_it():
    assert one_sided_by_luck(2000, 2000) == 1.0
    assert one_sided_by_luck(100, 1900) == pytest.approx(0, abs=1e-9)


def propose(ratios, likely=13.4, norm=12.0):
    return norm_proposal(norm=norm, low=10.13, likely=likely, high=17.2, ratios=ratios)


def test_logs_that_lie_on_one_side_propose_a_norm_people_would_write():
    found = propose([1.2] * 9 + [0.9])
    assert (found.low, found.likely, found.high) == (10.0, 13.5, 17.0)
    assert (found.above, found.below) == (9, 1)
    assert found.words == "10, 13.5, 17"


@pytest.mark.parametrize(
    ("ratios", "likely"),
    [
        ([1.2] * 4, 13.4),  # too few
        ([1.2] * 6 + [0.9] * 4, 13.4),  # could be luck
        ([1.02] * 30, 12.3),  # too near to matter
        ([0.9] * 10, 13.4),  # the figure and the logs point different ways
    ],
)
def test_logs_that_do_not_speak_clearly_propose_nothing(ratios, likely):
    assert propose(ratios, likely) is None


@pytest.mark.parametrize(("hours", "written"), [(0.01, 0.05), (0.37, 0.35), (1.97, 1.95), (6.47, 6.5), (13.3, 13.5)])
def test_norms_are_rounded_as_people_write_them(hours, written):
    assert rounded_norm(hours) == pytest.approx(written)


@pytest.mark.parametrize(
    ("held", "cases", "tight", "wide"),
    [
        (13, 20, True, False),
        (14, 20, False, False),
        (18, 20, False, False),
        (19, 20, False, True),
        (0, 19, False, False),
    ],
)
def test_figures_are_doubted_outside_seven_and_nine_in_ten_from_twenty_cases_on(held, cases, tight, wide):
    found = holding([(9, 8, 10)] * held + [(11, 8, 10)] * (cases - held))
    assert (found.held, found.cases) == (held, cases)
    assert (found.too_tight, found.too_wide) == (tight, wide)
    assert found.cushion == pytest.approx(1.25)


def test_nothing_finished_is_no_share():
    assert holding([]).share == 0


def test_names_of_lines_never_print_over_each_other_and_dots_stay_inside():
    for picture in pictures_of(
        [Dot(hours, "Mon", "x", "") for hours in (1, 12, 500)], norm=12, likely=12.01, figure_80=12.02
    ):
        places = sorted(line.text_y for line in picture.lines)
        assert all(later - earlier > 14.8 for earlier, later in zip(places, places[1:], strict=False))
        assert all(0 <= spot.y <= picture.height and picture.left <= spot.x <= picture.right for spot in picture.spots)
    assert [picture.look for picture in pictures_of([], norm=1, likely=1, figure_80=2)] == ["wide", "narrow"]

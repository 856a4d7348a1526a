"""Hours as services: the worked numbers of the estimating rule (12 h gives 16.1 h at 8 in 10; computed, no source)."""

from decimal import Decimal

import pytest

from jobs.estimating.services import bundle_hours, hours_for, hours_sentence
from tests.factories import make_operation
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db


def twelve(**more):
    return make_operation("ky-top", hours_low=Decimal(8), hours_likely=Decimal(12), hours_high=Decimal(18), **more)


def test_the_sentence_says_norm_likely_and_eight_in_ten():
    hours = hours_for(operation=twelve(), quantity=1, kind="grand")
    assert hours_sentence(hours) == "Norm 12 h. Nothing logged yet. Expect 12 h; 8 in 10 stay under 16.1 h."


def test_small_work_is_said_to_the_hundredth():
    operation = make_operation("ky-repair", hours_low=Decimal("0.1"), hours_likely=Decimal("0.25"), unit="note")
    sentence = hours_sentence(hours_for(operation=operation, quantity=1, kind="grand"))
    assert sentence == "Norm 0.25 h. Nothing logged yet. Expect 0.25 h; 8 in 10 stay under 0.34 h."


def test_units_multiply_and_an_upright_has_its_factor():
    operation = twelve(upright_factor=Decimal("0.75"))
    assert hours_for(operation=operation, quantity=Decimal(2), kind="grand").likely == pytest.approx(24)
    assert hours_for(operation=operation, quantity=Decimal(2), kind="upright").likely == pytest.approx(18)


def test_a_bundle_is_wider_than_independent_tasks_and_narrower_than_the_sum():
    hours = [hours_for(operation=twelve(), quantity=1, kind="grand")] * 12
    bundle = bundle_hours(hours)
    assert bundle.sum_likely == pytest.approx(144)
    assert bundle.likely < bundle.figure_80 < sum(each.figure_80 for each in hours)


@pytest.mark.parametrize("quantity", [0, -1, Decimal("-0.5")])
def test_a_count_that_cannot_be_is_refused_in_words(quantity):
    with pytest.raises(Refused, match="needs a count above nought"):
        hours_for(operation=twelve(), quantity=quantity, kind="grand")

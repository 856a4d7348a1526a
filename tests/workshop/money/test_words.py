from decimal import Decimal as D

import pytest

from workshop.money.words import money, money_range, money_round


@pytest.mark.parametrize(
    ("amount", "words"),
    [
        ("1240", "£1,240.00"),
        ("0.005", "£0.01"),
        ("2.675", "£2.68"),
        ("-5", "-£5.00"),
        ("1234567.8", "£1,234,567.80"),
    ],
)
def test_money_shows_pounds_and_pence(amount, words):
    assert money(D(amount)) == words


def test_money_knows_other_currencies():
    assert money(D("1240"), "EUR") == "€1,240.00"


def test_an_estimate_is_shown_to_the_whole_pound():
    assert money_round(D("1239.50")) == "£1,240"
    assert money_round(D("1240.49")) == "£1,240"


def test_a_range_names_the_currency_once():
    assert money_range(D("5200"), D("6300")) == "£5,200–6,300"
    assert money_range(D("980"), D("1020.4"), "EUR") == "€980–1,020"


def test_a_range_without_width_is_one_amount():
    assert money_range(D("5199.60"), D("5200.20")) == "£5,200"


def test_a_range_of_differences_may_start_below_nought():
    assert money_range(D("-50"), D("200")) == "-£50 to £200"


def test_a_range_the_wrong_way_round_is_refused():
    with pytest.raises(ValueError, match="lower amount first"):
        money_range(D(2), D(1))

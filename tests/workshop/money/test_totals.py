"""Rounding, VAT, totals and stage amounts. Rules: HMRC Notice 700, 17.5 and 17.6; EN 16931 BR-CO-10 to 17."""

from decimal import Decimal as D

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.money.calc import (
    GrossLine,
    Rounding,
    TotalLine,
    document_totals,
    gross_document_totals,
    round_money,
    split_amount,
    vat_in_gross,
    vat_on_net,
)

pennies = st.integers(0, 9_999_999).map(lambda n: D(n) / 100)
some_pennies = st.integers(1, 9_999_999).map(lambda n: D(n) / 100)
rates = st.sampled_from([D(20), D(5), D("0.9"), D(19), D(0)])


@pytest.mark.parametrize(
    ("amount", "rounded"),
    [("0.005", "0.01"), ("0.015", "0.02"), ("2.675", "2.68"), ("-0.005", "-0.01"), ("1.0049", "1.00")],
)
def test_halves_of_a_penny_round_up(amount, rounded):
    assert round_money(D(amount)) == D(rounded)


# HMRC Notice 700, 17.5, from memory: 86.76p is its example, rounded to 86.8p by the tenth-of-a-penny rule.
def test_a_tenth_of_a_penny_per_line_then_down():
    line = [D("4.338")]
    assert vat_on_net(line * 1, D(20), Rounding.LINE_TENTH_THEN_DOWN) == D("0.86")
    assert vat_on_net(line * 5, D(20), Rounding.LINE_TENTH_THEN_DOWN) == D("4.34")
    assert vat_on_net(line * 5, D(20), Rounding.DOCUMENT_DOWN) == D("4.33")


@pytest.mark.parametrize("rounding", Rounding)
def test_a_credit_takes_back_exactly_what_the_invoice_charged(rounding):
    lines = [D("123.45"), D("67.89"), D("0.99"), D("250.05"), D("10.03")]
    assert vat_on_net([-net for net in lines], D(20), rounding) == -vat_on_net(lines, D(20), rounding)


def test_prices_with_vat_are_never_rounded_down():
    assert vat_in_gross(D("0.03"), D(20)) == D("0.01")  # exactly half a penny
    assert vat_in_gross(D("120.00"), D(20)) == D("20.00")
    assert vat_in_gross(D("100.00"), D(20)) == D("16.67")
    assert vat_in_gross(D("0.09"), D(20)) == D("0.02")  # 1.5p; down would be 1p


@pytest.mark.parametrize("rate", ["-1", "100.5"])
def test_an_impossible_rate_is_named(rate):
    with pytest.raises(ValueError, match=f"VAT rate of {rate} %"):
        vat_on_net([D(1)], D(rate))


def test_an_allowance_is_shared_among_the_rates():
    totals = document_totals([TotalLine(D(300), D(20)), TotalLine(D(100), D(5))], allowance=D(40), charge=D(8))
    assert [(entry.rate, entry.without_vat, entry.vat) for entry in totals.rates] == [
        (D(20), D("276.00"), D("55.20")),
        (D(5), D("92.00"), D("4.60")),
    ]
    assert totals.with_vat == D("427.80")


def test_a_line_with_a_fraction_of_a_penny_is_refused():
    with pytest.raises(ValueError, match="Line 2 comes to 10.005"):
        document_totals([TotalLine(D(1), D(20)), TotalLine(D("10.005"), D(20))])


@pytest.mark.parametrize("name", ["allowance", "charge", "paid", "rounding_amount"])
def test_no_amount_may_hold_a_fraction_of_a_penny(name):
    with pytest.raises(ValueError, match="fraction of a penny"):
        document_totals([TotalLine(D(1), D(20))], **{name: D("0.001")})


def test_an_allowance_below_nought_or_on_nothing_is_refused():
    with pytest.raises(ValueError, match="below nought"):
        document_totals([TotalLine(D(1), D(20))], allowance=D(-1))
    with pytest.raises(ValueError, match="more than nought"):
        document_totals([], allowance=D(1))


def test_a_document_without_lines_comes_to_nothing():
    assert document_totals([]).due == 0
    assert gross_document_totals([]).due == 0


def test_seven_small_lines_rounded_one_by_one_cost_three_pence_more():
    lines = [TotalLine(D("10.03"), D(20))] * 7
    assert document_totals(lines).vat == D("14.04")
    assert document_totals(lines, rounding=Rounding.LINE_NEAREST).vat == D("14.07")


def test_a_price_shown_with_vat_is_the_price_paid():
    totals = gross_document_totals([GrossLine(D("99.99"), D(20)), GrossLine(D("10.00"), D(5))], paid=D("50.00"))
    assert totals.with_vat == D("109.99")
    assert totals.due == D("59.99")
    assert totals.vat == D("16.67") + D("0.48")
    assert totals.without_vat == D("92.84")
    assert totals.prices_include_vat


@given(st.lists(st.tuples(pennies, rates), min_size=1), some_pennies, st.sampled_from(Rounding))
def test_net_totals_always_add_up(lines, paid, rounding):
    totals = document_totals([TotalLine(*line) for line in lines], paid=paid, rounding=rounding)
    assert totals.without_vat == sum(entry.without_vat for entry in totals.rates)
    assert totals.with_vat == totals.without_vat + totals.vat
    assert totals.due == totals.with_vat - paid
    exact = sum(net * rate / 100 for net, rate in lines)
    allowed = D("0.005") * len(lines) + D("0.01") * len(totals.rates)
    assert abs(totals.vat - exact) <= allowed


@given(st.lists(st.tuples(some_pennies, rates), min_size=1), st.integers(0, 100))
def test_gross_totals_always_come_to_the_prices_shown(lines, percent):
    shown = sum(gross for gross, _ in lines)
    off = round_money(shown * percent / 100)
    totals = gross_document_totals([GrossLine(*line) for line in lines], allowance=off)
    assert totals.with_vat == shown - off == sum(entry.without_vat + entry.vat for entry in totals.rates)


@given(pennies, rates)
def test_vat_taken_out_of_a_gross_price_goes_back_on(net, rate):
    gross = net + vat_on_net([net], rate)
    assert gross - vat_in_gross(gross, rate) == net


@given(
    st.integers(-9_999_999, 9_999_999).map(lambda n: D(n) / 100),
    st.lists(st.integers(0, 1000), min_size=1).filter(any),
)
def test_stage_amounts_always_sum_to_the_total(total, shares):
    parts = split_amount(total, shares)
    assert sum(parts) == total
    for part, share in zip(parts, shares, strict=True):
        assert abs(part - total * share / sum(shares)) < D("0.01")
        assert part == round_money(part)


def test_the_odd_penny_goes_to_the_part_that_lost_most():
    assert split_amount(D("100.00"), [1, 1, 1]) == [D("33.34"), D("33.33"), D("33.33")]
    assert split_amount(D("0.05"), [D(30), D(40), D(30)]) == [D("0.02"), D("0.02"), D("0.01")]
    assert split_amount(D("-100.00"), [1, 1, 1]) == [D("-33.34"), D("-33.33"), D("-33.33")]


@pytest.mark.parametrize("shares", [[], [0, 0], [2, -1]])
def test_shares_that_cannot_split_are_refused(shares):
    with pytest.raises(ValueError, match="at least one share above nought"):
        split_amount(D(10), shares)


def test_a_total_with_a_fraction_of_a_penny_is_not_split():
    with pytest.raises(ValueError, match="fraction of a penny"):
        split_amount(D("0.001"), [1])


@pytest.mark.parametrize(("total", "line"), [(document_totals, TotalLine), (gross_document_totals, GrossLine)])
def test_a_charge_adds_and_the_rounding_amount_only_moves_what_is_due(total, line):
    plain = total([line(D("100.00"), D(0))])
    charged = total([line(D("100.00"), D(0))], charge=D("7.50"), allowance=D("2.00"), rounding_amount=D("0.02"))
    assert charged.with_vat == plain.with_vat + D("5.50") == charged.without_vat
    assert charged.due == charged.with_vat + D("0.02")  # BR-CO-16


def test_a_gross_charge_carries_its_own_vat():
    totals = gross_document_totals([GrossLine(D("120.00"), D(20))], charge=D("60.00"))
    assert (totals.with_vat, totals.vat) == (D("180.00"), D("30.00"))

"""Lines and totals of a scope, against whole pennies counted with integers and fractions.

Totals without VAT in the prices: EN 16931 worked example of the trade notes (bases 812.45 at 20 % and 99.99 at 5 %
give 162.49 + 5.00 and 1079.93 in all). Prices with VAT: HMRC Notice 700, 17.6, VAT is the sixth part at 20 %.
"""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.quoting.calc import pricing
from jobs.quoting.calc.pricing import Amount, PartUse

D = Decimal
pence = st.integers(1, 5_000_000)
rates = st.sampled_from([D(20), D(5), D(0), D("17.50")])


def half_up(value: Fraction) -> int:
    return int(value * 2 + 1) // 2 if value >= 0 else -(int(-value * 2 + 1) // 2)


def test_two_rates_give_the_totals_of_the_standard():
    amounts = [pricing.amount_from_net(D("812.45"), D(20), "net"), pricing.amount_from_net(D("99.99"), D(5), "net")]
    found = pricing.totals(amounts, "net")
    assert (found.without_vat, found.vat, found.with_vat) == (D("912.44"), D("167.49"), D("1079.93"))


def test_a_price_with_vat_holds_a_sixth_of_it():
    assert pricing.amount_from_gross(D("120.00"), D(20)) == Amount(D("100.00"), D("120.00"), D(20))


@given(st.lists(st.tuples(pence, rates), min_size=1, max_size=12))
def test_gross_totals_are_what_the_lines_say_and_split_to_the_penny(lines):
    amounts = [pricing.amount_from_gross(D(gross) / 100, rate) for gross, rate in lines]
    found = pricing.totals(amounts, "gross")
    assert found.with_vat == D(sum(gross for gross, _ in lines)) / 100
    vat = sum(
        half_up(Fraction(sum(gross for gross, rate in lines if rate == each)) * Fraction(each) / (100 + Fraction(each)))
        for each in {rate for _, rate in lines}
    )
    assert found.vat == D(vat) / 100
    assert found.without_vat + found.vat == found.with_vat


@given(st.lists(st.tuples(pence, rates), min_size=1, max_size=12))
def test_net_totals_round_once_a_rate(lines):
    found = pricing.totals([pricing.amount_from_net(D(net) / 100, rate, "net") for net, rate in lines], "net")
    vat = sum(
        half_up(Fraction(sum(net for net, rate in lines if rate == each)) * Fraction(each) / 100)
        for each in {rate for _, rate in lines}
    )
    assert found.without_vat == D(sum(net for net, _ in lines)) / 100
    assert found.vat == D(vat) / 100


@given(
    st.integers(1, 9000),
    st.integers(1, 20000),
    st.lists(st.integers(0, 400), min_size=1, max_size=10).filter(any),
    rates,
    st.sampled_from(["net", "gross"]),
)
def test_labour_by_stage_adds_up_to_all_hours_times_the_rate(tenths, rate_pence, weights, rate, mode):
    hours, hourly = D(tenths) / 10, D(rate_pence) / 100
    stages = {f"stage {place}": D(weight) for place, weight in enumerate(weights)}
    lines = pricing.labour_by_stage(hours, hourly, stages, rate, mode)
    net = Fraction(tenths * rate_pence, 10)
    whole = half_up(net * (100 + Fraction(rate)) / 100 if mode == "gross" else net)
    assert sum(line.shown(mode) for line in lines.values()) == D(whole) / 100
    assert set(lines) == {stage for stage, weight in stages.items() if weight}


def test_no_hours_cost_nothing():
    assert pricing.labour_by_stage(D(0), D(48), {"keys": D(0)}, D(20), "gross") == {}


def test_hours_are_charged_by_the_tenth_as_printed():
    assert [pricing.priced_hours(hours) for hours in (11.04, 11.05, D("11.149"))] == [D("11.0"), D("11.1"), D("11.1")]


def test_the_same_part_of_two_operations_is_one_line():
    uses = [PartUse("glue", "Glue", "kg", D("0.3"), D(16)), PartUse("cloth", "Cloth", "m", D(1), D(9)),
            PartUse("glue", "Glue", "kg", D("0.2"), D(16))]  # fmt: skip
    assert [(use.code, use.quantity) for use in pricing.parts_together(uses)] == [("glue", D("0.5")), ("cloth", D(1))]


@pytest.mark.parametrize(("mode", "shown"), [("net", D("32.33")), ("gross", D("38.79"))])
def test_a_part_carries_its_mark_up_and_is_rounded_once(mode, shown):
    # 3 x 9.37 = 28.11; + 15 % = 32.3265; with 20 % VAT 38.7918 (38.80 if the net were rounded first).
    line = pricing.part_amount(PartUse("cloth", "Cloth", "strip", D(3), D("9.37")), D(15), D(20), mode)
    assert line.shown(mode) == shown

"""What is asked for when: amounts that always add up, and the VAT in each payment."""

from decimal import Decimal as D

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.billing.calc import (
    BALANCE,
    DEPOSIT,
    POINTS,
    gross_line,
    less_line,
    points_reached,
    stage_asks,
    sum_lines,
    vat_of_payments,
)

STAGES = [stage for _, _, stages in POINTS for stage in stages]
pounds = st.integers(0, 5_000_000).map(lambda pence: D(pence) / 100)
hours_of = st.dictionaries(st.sampled_from(STAGES), st.integers(0, 4000).map(lambda n: D(n) / 10))
percents = st.integers(0, 10_000).map(lambda n: D(n) / 100)
rates = st.sampled_from([D(0), D(5), D("17.5"), D(20), D("20.55")])


def amounts(asks):
    return {ask.point: ask.amount for ask in asks}


def test_a_deposit_of_30_per_cent_and_the_rest_by_hours():
    # Worked by hand: 5200 x 30 % = 1560; the rest 3640 over 10 + 40 + 50 h.
    asks = stage_asks(D("5200.00"), D(30), {"opening": D(10), "action": D(30), "keys": D(10), "tuning": D(50)})
    assert amounts(asks) == {
        DEPOSIT: D("1560.00"),
        "opened": D("364.00"),
        "rebuilt": D("1456.00"),
        BALANCE: D("1820.00"),
    }


def test_pennies_that_do_not_divide_are_given_to_somebody():
    asks = stage_asks(D("100.00"), D(0), {"opening": D(1), "strings": D(1), "tuning": D(1)})
    assert sorted(amounts(asks).values()) == [D("33.33"), D("33.33"), D("33.34")]


def test_a_job_without_hours_asks_for_the_balance():
    assert amounts(stage_asks(D(100), D(30), {})) == {DEPOSIT: D(30), BALANCE: D(70)}


def test_what_was_asked_stays_and_a_variation_changes_the_later_amounts_only():
    hours = {"opening": D(10), "action": D(90)}
    before = amounts(stage_asks(D(1000), D(30), hours))
    asked = {DEPOSIT: before[DEPOSIT], "opened": before["opened"]}
    after = amounts(stage_asks(D(1500), D(30), hours, asked))
    assert after[DEPOSIT] == 300
    assert after["opened"] == 70
    assert after["rebuilt"] == 1130
    assert sum(after.values()) == 1500


def test_more_asked_than_is_agreed_now_goes_back_with_the_balance():
    after = amounts(stage_asks(D(400), D(30), {"action": D(10)}, {DEPOSIT: D(300), "opened": D(200)}))
    assert after == {DEPOSIT: D(300), "opened": D(200), BALANCE: D(-100)}


def test_nothing_follows_the_balance():
    asked = {DEPOSIT: D(300), BALANCE: D(700)}
    assert amounts(stage_asks(D(1000), D(30), {"action": D(10), "strings": D(5)}, asked)) == asked


@pytest.mark.parametrize(("agreed", "percent"), [(D("-0.01"), D(30)), (D(100), D("-1")), (D(100), D("100.01"))])
def test_amounts_that_cannot_be_are_refused(agreed, percent):
    with pytest.raises(ValueError, match="deposit is between 0 and 100"):
        stage_asks(agreed, percent, {})


@given(agreed=pounds, percent=percents, hours=hours_of, asked=st.dictionaries(
    st.sampled_from([DEPOSIT, *(point for point, _, _ in POINTS if point != BALANCE)]), pounds))  # fmt: skip
def test_the_amounts_add_up_whatever_was_asked_before(agreed, percent, hours, asked):
    asks = stage_asks(agreed, percent, hours, asked)
    assert sum(ask.amount for ask in asks) == agreed
    assert asks[-1].point == BALANCE
    assert {point: amounts(asks)[point] for point in asked} == asked
    assert all(ask.amount > 0 for ask in asks if ask.point not in asked and ask.point != BALANCE)
    assert len({ask.point for ask in asks}) == len(asks)


@given(
    agreed=pounds,
    rate=rates,
    percent=percents,
    hours=hours_of,
    changes=st.lists(st.integers(-300_000, 300_000).map(lambda pence: D(pence) / 100), max_size=5),
    early=st.lists(st.integers(0, 4), max_size=5),
)
def test_the_invoices_of_a_job_sum_to_what_was_agreed_and_its_vat(agreed, rate, percent, hours, changes, early):
    """Invoice in any order, with variations between, then the balance: net, VAT and total hold to the penny."""
    papers = {}
    for turn in range(max(len(changes), len(early))):
        if turn < len(early):
            asks = [one for one in stage_asks(agreed, percent, hours, totals(papers)) if one.point not in papers]
            asks = [one for one in asks if one.point != BALANCE]
            if asks:
                ask = asks[early[turn] % len(asks)]
                papers[ask.point] = (gross_line(ask.words, ask.amount, rate),)
        if turn < len(changes):
            agreed = max(agreed + changes[turn], D(0))
    less = [less_line("less", *sum_lines(lines)[:2], rate) for lines in papers.values()]
    papers[BALANCE] = (gross_line("all", agreed, rate), *less)
    net, vat, total = (sum(column) for column in zip(*map(sum_lines, papers.values()), strict=True))
    whole = gross_line("all", agreed, rate)
    assert (net, vat, total) == (whole.net, whole.vat, agreed)


def totals(papers):
    return {point: sum_lines(lines)[2] for point, lines in papers.items()}


def test_a_point_is_reached_when_no_stage_of_it_has_work_left():
    assert points_reached({"keys", "tuning"}) == {DEPOSIT, "opened", "strung", "finished"}
    assert points_reached(set()) == {DEPOSIT, *(point for point, _, _ in POINTS)}


def test_the_vat_in_payments_of_a_third_each():
    # 120.00 with 20.00 VAT: a third each is 6.67, then 13.33 - 6.67 and 20.00 - 13.33 on the running sum.
    assert vat_of_payments(D("20.00"), D("120.00"), [D(40)] * 3) == (D("6.67"), D("6.66"), D("6.67"))


def test_what_goes_back_on_a_credit_carries_its_vat_back():
    assert vat_of_payments(D("-20.00"), D("-120.00"), [D(-60)]) == (D("-10.00"),)


def test_an_invoice_over_nothing_takes_no_payment():
    assert vat_of_payments(D(0), D(0), []) == ()
    with pytest.raises(ValueError, match="takes no payment"):
        vat_of_payments(D(0), D(0), [D(1)])


@given(total=st.integers(1, 10**7), rate=rates, cuts=st.lists(st.integers(1, 10**6), max_size=8))
def test_the_vat_of_payments_in_full_is_the_vat_of_the_invoice(total, rate, cuts):
    line = gross_line("x", D(total) / 100, rate)
    paid, payments = D(0), []
    for cut in [*cuts, total]:
        part = min(D(cut) / 100, line.gross - paid)
        if part > 0:
            payments.append(part)
            paid += part
    shares = vat_of_payments(line.vat, line.gross, payments)
    assert sum(shares) == line.vat
    assert all(share >= 0 for share in shares)

"""Payments: what is open, what goes back, what is carried over."""

import datetime as dt
from decimal import Decimal as D

import pytest

from jobs.billing.models import Invoice, Payment
from jobs.billing.queries import money_of, open_invoices, owed_back, still_of
from jobs.billing.services import invoice_credit, payment_carry
from tests.factories import MOMENT, TODAY, make_manager
from tests.jobs.billing.money_made import issue, make_money_job, pay
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db


def take_back(invoice, reason="wrong name"):
    return invoice_credit(invoice=invoice, by=make_manager(), on=TODAY, reason=reason)


def test_a_payment_in_parts_leaves_the_rest_open():
    invoice = issue(make_money_job(), "deposit")
    pay(invoice, "1000.00")
    assert still_of(invoice) == D("560.00")
    assert [one.still for one in open_invoices()] == [D("560.00")]
    pay(invoice, "560.00")
    assert not open_invoices().exists()


def test_parts_that_floating_numbers_add_up_a_hair_short_are_paid_in_full():
    # 0.7 + 0.1 is 0.7999999999999999 in binary floating point (IEEE 754), which is how SQLite adds.
    invoice = issue(make_money_job("0.80", deposit=100), "deposit")
    pay(invoice, "0.70")
    pay(invoice, "0.10")
    assert still_of(invoice) == 0
    assert not open_invoices().exists()
    assert not owed_back().exists()


@pytest.mark.parametrize(
    ("amount", "words"),
    [("0", "more than nothing"), ("-5", "more than nothing"), ("1560.01", "more than the £1,560.00 still open")],
)
def test_amounts_that_cannot_be_are_refused(amount, words):
    invoice = issue(make_money_job(), "deposit")
    with pytest.raises(Refused, match=words):
        pay(invoice, amount)
    assert not Payment.objects.exists()


def test_the_day_of_a_payment_is_not_in_the_future_by_the_clock_of_the_shop():
    invoice = issue(make_money_job(), "deposit")
    late = dt.datetime(2027, 6, 30, 23, 30, tzinfo=dt.UTC)  # half past midnight on 1 July in the shop
    assert pay(invoice, "1.00", on=dt.date(2027, 7, 1), at=late).on == dt.date(2027, 7, 1)
    with pytest.raises(Refused, match="cannot be in the future"):
        pay(invoice, "1.00", on=dt.date(2027, 7, 2), at=late)


@pytest.mark.parametrize("more", [{"method": "barter"}, {"note": "x" * 121}, {"amount": "1.005"}])
def test_a_payment_its_row_cannot_hold_is_refused_in_words(more):
    invoice = issue(make_money_job(), "deposit")
    with pytest.raises(Refused, match=r"\w+: "):
        pay(invoice, **{"amount": "5.00", **more})


def test_an_unpaid_invoice_that_is_taken_back_owes_nobody_anything():
    invoice = issue(make_money_job(), "deposit")
    credit = take_back(invoice)
    assert (still_of(invoice), still_of(credit)) == (0, 0)
    with pytest.raises(Refused, match="Invoice 1 was credited: keep the payment on the invoice that took its place"):
        pay(invoice, "5.00")
    with pytest.raises(Refused, match="more than the £0.00 still open"):
        pay(credit, "5.00")


def test_what_was_paid_on_an_invoice_taken_back_is_to_be_paid_back():
    job = make_money_job()
    invoice = issue(job, "deposit")
    pay(invoice, "1000.00")
    credit = take_back(invoice)
    assert still_of(credit) == D("-1000.00")
    assert [one.number for one in owed_back()] == [credit.number]
    assert pay(credit, "400.00").amount == D("-400.00")
    with pytest.raises(Refused, match="more than the £600.00"):
        pay(credit, "600.01")
    pay(credit, "600.00")
    assert not owed_back().exists()
    assert money_of(job).paid == 0


def test_what_was_paid_is_carried_over_to_the_invoice_that_takes_its_place():
    job = make_money_job()
    wrong = issue(job, "deposit")
    pay(wrong, method="card")
    credit, right = take_back(wrong), issue(job, "deposit")
    kept = payment_carry(credit=credit, invoice=right, by=make_manager(), at=MOMENT)
    assert (kept.amount, kept.method) == (D("1560.00"), "card")
    assert (still_of(wrong), still_of(credit), still_of(right)) == (0, 0, 0)
    assert money_of(job).paid == D("1560.00")
    with pytest.raises(Refused, match="Nothing is to be paid back on invoice 2"):
        payment_carry(credit=credit, invoice=right, by=make_manager(), at=MOMENT)


def test_carrying_over_stops_at_what_is_open_and_stays_in_its_job():
    job = make_money_job()
    wrong = issue(job, "deposit")
    pay(wrong)
    credit, small = take_back(wrong), issue(job, "opened")
    other = issue(make_money_job(), "deposit")
    with pytest.raises(Refused, match="of one job, or"):
        payment_carry(credit=credit, invoice=other, by=make_manager(), at=MOMENT)
    payment_carry(credit=credit, invoice=small, by=make_manager(), at=MOMENT)
    assert (still_of(small), still_of(credit)) == (0, D("-1196.00"))
    with pytest.raises(Refused, match="Nothing is open on invoice 3"):
        payment_carry(credit=credit, invoice=small, by=make_manager(), at=MOMENT)


def test_a_balance_below_nothing_is_paid_back():
    job = make_money_job()
    pay(issue(job, "deposit"))
    job.agreed_total = D("1000.00")
    job.save()
    balance = issue(job, "balance")
    assert still_of(balance) == D("-560.00")
    assert pay(balance, "560.00").amount == D("-560.00")
    assert money_of(job).balance_open == 0


def test_a_credit_needs_a_reason_and_comes_once():
    invoice = issue(make_money_job(), "deposit")
    with pytest.raises(Refused, match="Say why"):
        take_back(invoice, reason="  ")
    credit = take_back(invoice)
    assert credit.about == "Credit of invoice 1: wrong name"
    with pytest.raises(Refused, match="credited already"):
        take_back(invoice)
    with pytest.raises(Refused, match="cannot be credited"):
        take_back(credit)
    assert Invoice.objects.count() == 2


def test_an_invoice_the_balance_counts_is_taken_back_after_the_balance():
    job = make_money_job()
    deposit, balance = issue(job, "deposit"), issue(job, "balance")
    with pytest.raises(Refused, match="invoice 2, takes this one into account"):
        take_back(deposit)
    take_back(balance)
    take_back(deposit)
    assert money_of(job).invoiced == 0

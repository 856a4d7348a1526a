"""Issuing invoices: amounts, order, the points of the work."""

import contextlib
from decimal import Decimal as D
from io import BytesIO

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from jobs.billing.calc import gross_line
from jobs.billing.models import Invoice, InvoiceLine
from jobs.billing.pdf import invoice_pdf
from jobs.billing.queries import asks_of, money_of
from jobs.billing.series import series_check
from jobs.billing.services import invoice_credit
from tests.factories import TODAY, make_job, make_manager
from tests.jobs.billing.money_made import issue, make_money_job, pay
from workshop.house.models import Shop
from workshop.house.queries import the_shop
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db


def test_an_invoice_is_numbered_dated_addressed_and_adds_up():
    job = make_money_job()
    first, second = issue(job, "deposit"), issue(job, "opened")
    assert (first.number, second.number) == (1, 2)
    assert (first.net, first.vat, first.total) == (D("1300.00"), D("260.00"), D("1560.00"))
    assert (first.issued_on, first.due_on.toordinal() - TODAY.toordinal()) == (TODAY, 14)
    assert first.to_name == "Mrs Ferrowby"
    assert f"no. {job.instrument.number}: deposit on acceptance" in first.about
    assert second.total == D("364.00")


def test_an_invoice_is_printed_as_the_shop_stood_when_it_was_issued():
    shop = the_shop()
    Shop.objects.filter(pk=shop.pk).update(street="1 Kiln Row", vat_number="GB123456789")
    invoice = issue(make_money_job(), "deposit")
    Shop.objects.filter(pk=shop.pk).update(street="9 New Street", vat_number="GB987654321")
    paper = PdfReader(BytesIO(invoice_pdf(Invoice.objects.get(pk=invoice.pk)))).pages[0].extract_text()
    assert "1 Kiln Row" in paper
    assert "GB123456789" in paper
    assert "9 New Street" not in paper
    assert "GB987654321" not in paper
    assert not series_check()
    Invoice.objects.filter(pk=invoice.pk).update(issued_from={**invoice.issued_from, "vat_number": "GB987654321"})
    assert series_check() == ["Invoice 1 is not what was issued: it was changed outside the tool."]


def test_the_balance_takes_off_what_was_asked_for_before_by_name_and_day():
    job = make_money_job()
    deposit = issue(job, "deposit")
    balance = issue(job, "balance")
    words = list(balance.lines.values_list("words", "gross"))
    assert words == [
        ("All work agreed, variations included", D("5200.00")),
        (f"Less deposit, invoice {deposit.number} of Mon 11 Jan 2027", D("-1560.00")),
    ]
    assert (balance.net, balance.vat, balance.total) == (D("3033.33"), D("606.67"), D("3640.00"))
    assert deposit.vat + balance.vat == gross_line("", D("5200.00"), D(20)).vat


def test_a_second_invoice_of_one_point_is_refused():
    job = make_money_job()
    issue(job, "deposit")
    with pytest.raises(Refused, match="Invoice 1 asks for this already"):
        issue(job, "deposit")
    assert Invoice.objects.count() == 1


def test_nothing_can_be_asked_for_after_the_balance():
    job = make_money_job()
    issue(job, "balance")
    with pytest.raises(Refused, match="The balance, invoice 1, asks for all that was agreed"):
        issue(job, "opened")


@pytest.mark.parametrize("point", ["", "strung", "no such point", "deposit' --"])
def test_a_point_that_is_none_of_this_job_is_refused(point):
    with pytest.raises(Refused, match="nothing to ask for at this point"):
        issue(make_money_job(), point, all_the_same=True)


def test_a_point_waits_for_its_stages_unless_it_is_wanted_all_the_same():
    job = make_money_job(done=False)
    assert issue(job, "deposit").total == D("1560.00")
    with pytest.raises(Refused, match="Not all of the work is done that “opened up and reviewed” stands for"):
        issue(job, "opened")
    assert issue(job, "opened", all_the_same=True).total == D("364.00")
    job.tasks.filter(stage="action").update(state="done")
    assert money_of(job).next_is_reached
    assert issue(job, "rebuilt").total == D("1456.00")
    assert not money_of(job).next_is_reached


def test_a_job_nobody_agreed_a_price_for_has_nothing_to_ask():
    with pytest.raises(Refused, match="no price was agreed"):
        issue(make_job(agreed_total=D(0)), "balance")
    assert Invoice.objects.count() == 0


def test_a_refused_invoice_takes_no_number():
    job = make_money_job()
    issue(job, "deposit")
    for _ in range(3):
        with pytest.raises(Refused):
            issue(job, "deposit")
    assert issue(job, "opened").number == 2
    assert series_check() == []


def test_a_variation_that_leaves_much_out_is_paid_back_with_the_balance():
    job = make_money_job()
    issue(job, "deposit")
    issue(job, "opened")
    job.agreed_total = D("1500.00")
    job.save()
    balance = issue(job, "balance")
    assert balance.total == D("-424.00")
    assert sum(Invoice.objects.values_list("total", flat=True)) == D("1500.00")
    assert sum(Invoice.objects.values_list("vat", flat=True)) == D("250.00")


def test_an_account_that_is_even_is_closed_with_a_balance_of_nothing():
    job = make_money_job(deposit=100)
    issue(job, "deposit")
    assert [ask.point for ask in asks_of(job)] == ["deposit", "balance"]
    balance = issue(job, "balance")
    assert (balance.net, balance.vat, balance.total) == (0, 0, 0)


def test_the_balance_alone_asks_for_everything_even_where_the_deposit_was_to_be_all_of_it():
    assert issue(make_money_job(deposit=100), "balance").total == D("5200.00")


def test_the_line_of_a_credit_mirrors_the_invoice_to_the_penny():
    invoice = issue(make_money_job("333.33"), "deposit")
    credit = invoice_credit(invoice=invoice, by=make_manager(), on=TODAY, reason="wrong name")
    assert [(line.net, line.vat, line.gross) for line in credit.lines.all()] == [
        (-line.net, -line.vat, -line.gross) for line in invoice.lines.all()
    ]
    assert InvoiceLine.objects.count() == 2


pence = st.integers(1, 3_000_000).map(lambda n: D(n) / 100)


@settings(max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    agreed=pence,
    rate=st.sampled_from(["0", "5", "17.5", "20"]),
    deposit=st.integers(0, 100),
    steps=st.lists(
        st.one_of(
            st.sampled_from(["deposit", "opened", "rebuilt", "balance"]),
            st.integers(-200_000, 200_000).map(lambda n: D(n) / 100),
            st.just("credit"),
            st.just("pay"),
        ),
        max_size=7,
    ),
)
def test_whatever_happens_the_papers_of_a_job_sum_to_what_is_agreed_and_its_vat(agreed, rate, deposit, steps):
    """Invoices, variations, credits and payments in any order; then the balance as it has to be."""
    with transaction.atomic():
        job, by = make_money_job(str(agreed), vat=rate, deposit=deposit), make_manager()
        for step in steps:
            with contextlib.suppress(Refused):
                take(job, step, by)
        settle(job, by)
        papers = Invoice.objects.filter(job=job)
        whole = gross_line("", job.agreed_total, D(rate))
        assert sum(one.total for one in papers) == job.agreed_total
        assert sum(one.vat for one in papers) == whole.vat
        assert sum(one.net for one in papers) == whole.net
        assert [one.number for one in papers.order_by("number")] == list(range(1, len(papers) + 1))
        assert series_check() == []
        transaction.set_rollback(True)


def take(job, step, by):
    if isinstance(step, D):
        job.agreed_total = max(job.agreed_total + step, D("0.01"))
        job.save()
    elif step == "credit":
        last = Invoice.objects.filter(stands=True).exclude(kind="credit").order_by("-number").first()
        if last:
            invoice_credit(invoice=last, by=by, on=TODAY, reason="wrong")
    elif step == "pay":
        last = Invoice.objects.filter(stands=True).order_by("-number").first()
        if last:
            pay(last, abs(last.total), by=by)
    else:
        issue(job, step, by)


def settle(job, by):
    """Issue the balance, anew if something changed since."""
    balance = Invoice.objects.filter(kind="balance", stands=True).first()
    if balance and money_of(job).changed_since:
        invoice_credit(invoice=balance, by=by, on=TODAY, reason="the agreed amount has changed")
        balance = None
    if balance is None:
        issue(job, "balance", by)
    assert not money_of(job).changed_since

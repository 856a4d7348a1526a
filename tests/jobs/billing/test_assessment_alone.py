"""An assessment paid for on its own: its invoice, its pages, and what an order that follows makes of it."""

import datetime as dt
from decimal import Decimal as D
from io import BytesIO

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from pypdf import PdfReader

from jobs import flow
from jobs.billing.models import EarlierInvoice, Invoice
from jobs.billing.pdf import invoice_pdf
from jobs.billing.queries import asked_before, coming_off, invoiced_alone, money_of, still_of
from jobs.billing.series import series_check
from jobs.billing.services import (
    assessment_invoice,
    earlier_invoice_choose,
    earlier_invoices_take_up,
    invoice_credit,
    payment_carry,
)
from jobs.hours.services import house_time_keep
from jobs.portal.services import link_make
from jobs.quoting.services import quote_send, quote_start, scope_write
from jobs.updates.models import Update
from tests.factories import (
    MOMENT,
    TODAY,
    make_assessment,
    make_instrument,
    make_job,
    make_manager,
    make_operation,
    make_quote,
    make_task,
    make_technician,
)
from tests.jobs.billing.money_made import issue, make_money_job, pay
from workshop.house.models import Shop
from workshop.house.queries import the_shop
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


@pytest.fixture(autouse=True)
def monday(time_machine):
    time_machine.move_to(dt.datetime(2027, 1, 11, 7, 30, tzinfo=dt.UTC))


def text(answer):
    return " ".join(answer.content.decode().split())


def assessed(**more):
    return make_assessment(**{"finished_at": MOMENT, "on": TODAY - 3 * DAY, **more})


def ask(assessment, amount="180.00", on=TODAY):
    return assessment_invoice(assessment=assessment, amount=D(amount), by=make_manager(), on=on, at=MOMENT)


def ordered(assessment, *, holds_it=True, named=True, **more):
    """A job of 5200 that came from an assessment; with assessing among its tasks, or without."""
    job = make_money_job(instrument=assessment.instrument, accepted_on=TODAY, **more)
    if named:
        job.quote.assessment = assessment
        job.quote.save()
    if holds_it:
        make_task(job, make_operation("in-bench", stage="assessing"), state="done", hours_likely=D(4))
    earlier_invoices_take_up(job=job, at=MOMENT)
    return job


def test_it_is_an_invoice_of_the_one_series_with_vat_like_the_others():
    before, invoice = issue(make_money_job(), "deposit"), ask(assessed())
    assert (before.number, invoice.number) == (1, 2)
    # HMRC VAT fraction at 20 %: a sixth of what is paid
    assert (invoice.net, invoice.vat, invoice.total) == (D("150.00"), D("30.00"), D("180.00"))
    assert (invoice.kind, invoice.job, invoice.to_name) == ("assessment", None, "Mrs Ferrowby")
    assert invoice.due_on == TODAY + 14 * DAY
    assert [line.words for line in invoice.lines.all()] == ["Assessment of Fri 8 Jan 2027"]
    assert not series_check()
    paper = PdfReader(BytesIO(invoice_pdf(invoice))).pages[0].extract_text()
    for said in ("Invoice 2", "Assessment of Fri 8 Jan 2027", "£150.00", "£30.00", "£180.00", "Still to be paid"):
        assert said in paper
    Invoice.objects.filter(pk=invoice.pk).update(assessment=assessed())
    assert series_check() == ["Invoice 2 is not what was issued: it was changed outside the tool."]


@pytest.mark.parametrize(
    ("more", "amount", "words"),
    [
        ({"finished_at": None}, "180", "not finished yet"),
        ({"purpose": "review"}, "180", "part of a job"),
        ({"purpose": "final"}, "180", "part of a job"),
        ({}, "0", "above nought"),
        ({}, "-5", "above nought"),
        ({}, "1.005", "whole pence"),
        ({}, "NaN", "whole pence"),
    ],
)
def test_what_cannot_be_asked_for_is_refused_and_takes_no_number(more, amount, words):
    with pytest.raises(Refused, match=words):
        ask(assessed(**more), amount)
    assert ask(assessed()).number == 1


def test_it_is_asked_for_once_and_again_only_after_a_credit():
    assessment = assessed()
    first = ask(assessment)
    with pytest.raises(Refused, match="Invoice 1 asks for this already"):
        ask(assessment)
    pay(first)
    credit = invoice_credit(invoice=first, by=make_manager(), on=TODAY, reason="wrong name")
    assert (credit.assessment, credit.job, credit.total) == (assessment, None, D("-180.00"))
    assert still_of(credit) == D("-180.00")
    second = ask(assessment, "150.00")
    payment_carry(credit=credit, invoice=second, by=make_manager(), at=MOMENT)
    assert (still_of(credit), still_of(second)) == (D("-30.00"), 0)
    assert not series_check()


def test_the_database_holds_an_invoice_to_one_job_or_one_assessment():
    invoice, job = ask(assessed()), make_job()
    wrong = [
        {"job": job},
        {"assessment": None},
        {"assessment": None, "job": job},
        {"kind": "deposit"},
        {"kind": "balance"},
    ]
    for values in wrong:
        with pytest.raises(IntegrityError), transaction.atomic():
            Invoice.objects.filter(pk=invoice.pk).update(**values)
    deposit = issue(make_money_job(), "deposit")
    with pytest.raises(IntegrityError), transaction.atomic():
        Invoice.objects.filter(pk=deposit.pk).update(assessment=invoice.assessment)
    invoice.pk, invoice.number = None, 9
    with pytest.raises(IntegrityError), transaction.atomic():
        Invoice.objects.bulk_create([invoice])


@pytest.mark.parametrize(
    ("holds_it", "named", "deducted"),
    [(True, True, True), (True, False, True), (False, True, False), (False, False, False)],
)
def test_an_order_deducts_it_where_its_price_holds_the_assessment(holds_it, named, deducted):
    assessment = assessed()
    pay(ask(assessment))
    job = ordered(assessment, holds_it=holds_it, named=named)
    [row] = EarlierInvoice.objects.all()
    assert (row.job, row.deducted, row.decided_by) == (job, deducted, None)
    assert money_of(job).balance_open == (D("5020.00") if deducted else D("5200.00"))


def test_another_assessment_than_the_order_names_is_not_deducted_by_itself():
    instrument = make_instrument()
    old, new = assessed(instrument=instrument, on=TODAY - 90 * DAY), assessed(instrument=instrument)
    ask(old), ask(new, "120.00")
    job = ordered(new)
    assert [(row.invoice.assessment, row.deducted) for row in job.earlier_invoices.all()] == [(old, False), (new, True)]


def test_deducted_the_papers_of_assessment_and_job_sum_to_the_agreed_total():
    assessment = assessed()
    pay(ask(assessment))
    job = ordered(assessment)
    money = money_of(job)
    assert sum(one.amount for one in money.asks) == D("5200.00")
    assert [one.point for one in money.asks][:2] == ["assessment", "deposit"]
    deposit, balance = issue(job, "deposit"), issue(job, "balance", all_the_same=True)
    assert (deposit.total, balance.total) == (D("1560.00"), D("3460.00"))
    assert [line.words for line in balance.lines.all()] == [
        "All work agreed, variations included",
        "Less assessment, invoice 1 of Mon 11 Jan 2027",
        "Less deposit, invoice 2 of Mon 11 Jan 2027",
    ]
    papers = Invoice.objects.all()
    # 5200 with VAT at 20 % holds 866.67 of it, and so do the papers together
    assert (sum(one.total for one in papers), sum(one.vat for one in papers)) == (D("5200.00"), D("866.67"))
    pay(deposit), pay(balance)
    assert (money_of(job).balance_open, money_of(job).due, money_of(job).changed_since) == (0, 0, 0)
    with pytest.raises(Refused, match="takes this one into account"):
        invoice_credit(invoice=Invoice.objects.get(number=1), by=make_manager(), on=TODAY, reason="x")
    with pytest.raises(Refused, match="asked for without this change"):
        earlier_invoice_choose(row=EarlierInvoice.objects.get(), deducted=False, by=make_manager(), at=MOMENT)


def test_the_manager_decides_otherwise_and_back():
    assessment = assessed()
    ask(assessment)
    job, boss = ordered(assessment), make_manager()
    row = EarlierInvoice.objects.get()
    assert list(invoiced_alone()) == []
    earlier_invoice_choose(row=row, deducted=False, by=boss, at=MOMENT)
    assert (money_of(job).balance_open, money_of(job).asks[0].point) == (D("5200.00"), "deposit")
    assert [one.number for one in invoiced_alone()] == [1]
    earlier_invoice_choose(row=row, deducted=True, by=boss, at=MOMENT)
    assert money_of(job).asks[0].amount == D("180.00")
    with pytest.raises(Refused, match="nothing to ask for at this point"):
        issue(job, "assessment", all_the_same=True)


def test_a_credited_one_is_deducted_no_more_and_its_money_can_go_to_the_job():
    assessment = assessed()
    first = ask(assessment)
    pay(first)
    job = ordered(assessment)
    credit = invoice_credit(invoice=first, by=make_manager(), on=TODAY, reason="to be paid with the work")
    assert money_of(job).asks[0].point == "deposit"
    deposit = issue(job, "deposit")
    payment_carry(credit=credit, invoice=deposit, by=make_manager(), at=MOMENT)
    assert still_of(deposit) == D("1380.00")
    with pytest.raises(Refused, match="of one job"):
        payment_carry(credit=credit, invoice=issue(make_money_job(), "deposit"), by=make_manager(), at=MOMENT)
    with pytest.raises(Refused, match="nothing to take off"):
        earlier_invoice_choose(row=EarlierInvoice.objects.get(), deducted=False, by=make_manager(), at=MOMENT)


def test_after_the_order_it_is_asked_for_alone_only_where_the_price_does_not_hold_it():
    with_it, without = assessed(), assessed()
    ordered(with_it)
    job = ordered(without, holds_it=False)
    with pytest.raises(Refused, match="its price holds the assessment already"):
        ask(with_it)
    ask(without)
    assert [(row.job, row.deducted) for row in EarlierInvoice.objects.all()] == [(job, False)]


def test_an_acceptance_takes_it_up():
    assessment = assessed()
    ask(assessment)
    make_operation("in-bench", stage="assessing")
    boss = make_manager()
    draft = quote_start(instrument=assessment.instrument, assessment=assessment, by=boss, at=MOMENT)
    scope_write(scope=draft.scopes.get(), chosen={"in-bench": None}, refused={}, title="A second look")
    quote = quote_send(quote=draft, by=boss, at=MOMENT)
    scope, seen = quote.scopes.get(), quote.content_hash
    browser = Client()
    browser.post(
        f"/your-piano/enter/{link_make(client=quote.instrument.client, instrument=quote.instrument, at=MOMENT)}/"
    )
    letter = text(browser.get("/your-piano/"))
    assert "The assessment was asked for already: £180.00, invoice 1. It comes off the price once you agree." in letter
    said = text(browser.get(f"/your-piano/agree/{scope.pk}/"))
    assert "Comes off the price" in said
    assert "£180.00 for the assessment, invoice 1 of" in said
    assert "Comes off" not in text(browser.get("/your-piano/agree/decline/"))
    flow.quote_answered(quote, scope=scope, name="Mrs Ferrowby", words="", at=MOMENT, via="letter", content_hash=seen)
    assert "asked for already" not in text(browser.get("/your-piano/"))
    row, deposit = EarlierInvoice.objects.get(), Invoice.objects.get(kind="deposit")
    assert (row.job, row.deducted) == (deposit.job, True)
    assert money_of(row.job).invoiced == D("180.00") + deposit.total


def test_the_page_of_a_quote_says_what_was_asked_for_already(as_manager, django_assert_num_queries):
    assessment = assessed()
    ask(assessment)
    make_operation("in-bench", stage="assessing"), make_operation("ky-bush")
    draft = quote_start(instrument=assessment.instrument, assessment=assessment, by=make_manager("Bram"), at=MOMENT)
    way = draft.scopes.get()
    scope_write(scope=way, chosen={"ky-bush": None}, refused={}, title="Quiet keys")
    page = f"/quotes/{draft.number}/"
    assert "No way holds the assessment in its price, so it is paid beside." in text(as_manager.get(page))
    scope_write(scope=way, chosen={"ky-bush": None, "in-bench": None}, refused={}, title="Quiet keys")
    draft.scopes.create(position=2, title="Only to look on")
    with django_assert_num_queries(2):
        assert [ways for _, ways in asked_before(draft)] == [[1]]
    draft.scopes.get(position=2).delete()
    said = text(as_manager.get(page))
    assert "invoice 1</a>, £180.00. It comes off what way 1 asks for, once it is agreed." in said
    sent = quote_send(quote=draft, by=make_manager("Orla"), at=MOMENT)
    assert "It comes off what way 1 asks for" in text(as_manager.get(page))
    flow.quote_answered(
        sent, scope=sent.scopes.get(), name="Mrs Ferrowby", words="", at=MOMENT, via="letter",
        content_hash=sent.content_hash,
    )  # fmt: skip
    assert "asked for already" not in text(as_manager.get(page))


def test_what_would_come_off_is_told_only_of_a_way_whose_price_holds_the_assessment():
    looked, other = assessed(), assessed()
    ask(looked), ask(other)
    quote = make_quote(looked.instrument, assessment=looked)
    way = quote.scopes.create(position=1, title="Quiet keys")
    way.operations.create(operation=make_operation("ky-bush"), quantity=1, because="chosen")
    bench = way.operations.create(operation=make_operation("in-bench", stage="assessing"), because="refused")
    assert coming_off(way) == []
    bench.because = "implied"
    bench.save()
    assert [one.assessment for one in coming_off(way)] == [looked]
    quote.assessment = assessed(instrument=looked.instrument)
    quote.save()
    way.refresh_from_db()
    assert coming_off(way) == []


def test_the_assessment_leads_to_its_invoice_and_tells_of_it(as_manager, as_technician):
    assessment = assessed()
    page, form = f"/assessments/{assessment.pk}/", f"/assessments/{assessment.pk}/invoice/"
    assert "Invoice this assessment" in text(as_manager.get(page))
    assert "nvoice" not in text(as_technician.get(page)).split("<main")[1]
    assert as_technician.get(form).status_code == as_technician.post(form).status_code == 403
    assert 'name="amount" value' not in text(as_manager.get(form)), "no price set, no hours written down"
    for bad in ("", "ten", "0", "1.005"):
        answer = as_manager.post(form, {"amount": bad})
        assert (answer.status_code, f'value="{bad}"' in text(answer)) == (422, bool(bad))
    assert not Invoice.objects.exists()
    answer = as_manager.post(form, {"amount": "180.00"}, follow=True)
    assert "Invoice 1 is issued; its message waits for you to read and send." in text(answer)
    assert f'href="{page}"' in text(answer)
    assert "over £180.00" in Update.objects.get(job=None).body
    said = text(as_manager.get(page))
    assert "sent, to be paid" in said
    assert "Invoice this assessment" not in said
    assert "asks for this already" in text(as_manager.get(form))
    assert as_manager.post(form, {"amount": "180.00"}).status_code == 422
    assert Invoice.objects.count() == 1


def test_the_amount_offered_is_the_price_of_the_shop_or_else_the_hours(as_manager):
    assessment, who = assessed(), make_technician()
    house_time_keep(about=assessment, person=who, on=TODAY - DAY, minutes=150, by=who, at=MOMENT)
    form = f"/assessments/{assessment.pk}/invoice/"
    assert 'value="144.00"' in text(as_manager.get(form)), "2.5 h at 48.00 and 20 % VAT"
    assert the_shop().assessment_price is None
    Shop.objects.update(assessment_price=D("165.00"))
    assert 'value="165.00"' in text(as_manager.get(form))


def test_it_stands_in_the_room_of_money_and_is_found_there(as_manager):
    invoice = ask(assessed(instrument=make_instrument(maker="Thrushby")))
    page = text(as_manager.get("/money/"))
    assert "£180.00 is to be paid; nothing is overdue." in page
    number = invoice.instrument.number
    for query in ("kind=assessment", "q=thrushby", f"q={number}", "sort=instrument", "sort=-instrument"):
        rows = as_manager.get(f"/money/?as=csv&{query}").content.decode("utf-8-sig").splitlines()
        assert len(rows) == 2, query
        assert f"No. {number}" in rows[1] or str(number) in rows[1]


def test_the_money_page_of_the_job_says_so_and_takes_the_choice(as_manager, as_technician):
    assessment = assessed()
    ask(assessment)
    job = ordered(assessment)
    page, button = f"/money/jobs/{job.pk}/", f"/money/earlier/{EarlierInvoice.objects.get().pk}/"
    said = text(as_manager.get(page))
    assert "nobody pays for it twice" in said
    assert "Assessment, before the order" in said
    assert as_technician.post(button).status_code == 403
    said = text(as_manager.post(button, {"deducted": "no"}, follow=True))
    assert "The assessment, £180.00, is paid beside what this job asks for." in said
    assert "The client pays for both." in said
    assert "Tamsin chose so" in said
    as_manager.post(button, {"deducted": "yes"})
    issue(job, "balance", all_the_same=True)
    said = text(as_manager.post(button, {"deducted": "no"}, follow=True))
    assert "asked for without this change" in said
    assert "settled with the balance" in said
    assert EarlierInvoice.objects.get().deducted
    assert "comes off what the job asks for" in text(as_manager.get("/invoices/1/"))

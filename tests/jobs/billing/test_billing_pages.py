"""The Money room and its pages: who may, what they say, what a bad value does, what a paper says."""

import csv
import datetime as dt
import io
from decimal import Decimal as D

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from pypdf import PdfReader

from jobs.billing.models import Invoice, Payment
from jobs.billing.services import invoice_credit
from jobs.updates.models import Update
from tests.factories import TODAY, make_client, make_instrument, make_manager
from tests.jobs.billing.money_made import issue, make_money_job, pay
from workshop.house.queries import the_shop
from workshop.money.words import money

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def monday(time_machine):
    time_machine.move_to(dt.datetime(2027, 1, 11, 7, 30, tzinfo=dt.UTC))


def text(answer):
    return " ".join(answer.content.decode().split())


def paper(client, number):
    answer = client.get(f"/invoices/{number}/invoice.pdf")
    assert answer["Content-Type"] == "application/pdf"
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages).split())


@pytest.fixture
def job():
    return make_money_job()


def addresses(job, number):
    return [
        "/money/", f"/money/jobs/{job.pk}/", f"/invoices/{number}/", f"/invoices/{number}/invoice.pdf",
    ], [
        f"/money/jobs/{job.pk}/issue/", f"/invoices/{number}/pay/", f"/invoices/{number}/credit/",
        f"/invoices/{number}/carry/",
    ]  # fmt: skip


def test_money_is_for_the_manager_alone(job, as_technician, stranger):
    pages, buttons = addresses(job, issue(job, "deposit").number)
    for address in pages:
        assert as_technician.get(address).status_code == 403
        assert stranger.get(address)["Location"].startswith("/sign-in/")
    for address in buttons:
        assert as_technician.post(address).status_code == 403
        assert stranger.post(address)["Location"].startswith("/sign-in/")
    assert (Invoice.objects.count(), Payment.objects.count()) == (1, 0)


def test_buttons_answer_to_nothing_but_a_press(job, as_manager):
    _, buttons = addresses(job, issue(job, "deposit").number)
    for address in buttons:
        assert as_manager.get(address).status_code == 405


def test_an_empty_house_says_so(as_manager):
    page = text(as_manager.get("/money/"))
    assert "<h1>Everything asked for is paid.</h1>" in page
    assert "No invoice is open." in page
    assert "The first is an assessment, or the deposit of an accepted quote." in page


def test_the_page_says_what_is_due_what_is_overdue_and_what_can_be_asked_for(job, as_manager):
    issue(job, "deposit", on=TODAY - dt.timedelta(days=20))
    issue(make_money_job("1000.00", done=False), "deposit")
    page = text(as_manager.get("/money/"))
    assert "£1,860.00 is to be paid, £1,560.00 of it is overdue." in page
    assert f"£364.00 can be asked for now: no. {job.instrument.number}, opened up and reviewed." in page
    assert page.index("overdue</span>") < page.index("sent, to be paid</span>")


def test_the_list_is_narrowed_sorted_and_taken_along(job, as_manager):
    overdue = issue(job, "deposit", on=TODAY - dt.timedelta(days=20))
    paid = issue(job, "opened")
    pay(paid)
    wrong = issue(make_money_job(instrument=make_instrument(client=make_client("Mr Pasketh"))), "deposit")
    pay(wrong)
    credit = invoice_credit(invoice=wrong, by=make_manager(), on=TODAY, reason="wrong")

    def numbers(query):
        rows = as_manager.get(f"/money/?as=csv&{query}").content.decode("utf-8-sig")
        return [int(row["No."]) for row in csv.DictReader(io.StringIO(rows))]

    assert numbers("money=open") == numbers("money=overdue") == [overdue.number]
    assert numbers("money=paid") == [paid.number]
    assert numbers("money=back") == [credit.number]
    assert numbers("q=pasketh") == [credit.number, wrong.number]
    assert numbers("kind=stage") == [paid.number]
    assert numbers("sort=state")[0] == credit.number
    assert numbers("sort=-total")[2:] == [paid.number, credit.number]
    assert numbers("q=%27%22%F0%9F%8E%B9&kind=nonsense") == []


def test_the_money_of_a_job_shows_each_point_and_what_comes_next(as_manager):
    job = make_money_job(done=False)
    pay(issue(job, "deposit"))
    issue(job, "opened", all_the_same=True)
    job.tasks.filter(stage="action").update(state="done")
    page = text(as_manager.get(f"/money/jobs/{job.pk}/"))
    assert "£3,640.00 of £5,200.00 is still to come before it goes home." in page
    for words in ("paid</span>", "asked for</span>", "can be asked for</span>", "to come</span>"):
        assert words in page
    assert page.count(">Issue the invoice<") == page.count(">Issue all the same<") == 1
    assert "with all that was not asked for before: £3,276.00" in page


def test_a_point_is_issued_and_its_message_drafted(job, as_manager):
    answer = as_manager.post(f"/money/jobs/{job.pk}/issue/", {"point": "deposit"}, follow=True)
    assert "Invoice 1 is issued; its message waits for you to read and send." in text(answer)
    assert "£1,560.00" in Update.objects.get().body


def test_a_point_that_is_not_reached_is_refused_unless_all_the_same(as_manager):
    job = make_money_job(done=False)
    answer = as_manager.post(f"/money/jobs/{job.pk}/issue/", {"point": "opened"}, follow=True)
    assert "Say that you ask all the same" in text(answer)
    assert not Invoice.objects.exists()
    as_manager.post(f"/money/jobs/{job.pk}/issue/", {"point": "opened", "all_the_same": "yes"})
    assert Invoice.objects.get().stage == "opened"


def test_an_agreed_change_after_the_balance_is_told(job, as_manager):
    issue(job, "balance")
    job.agreed_total += D("120.00")
    job.save()
    assert "What is agreed has changed since the balance was asked for." in text(
        as_manager.get(f"/money/jobs/{job.pk}/")
    )
    assert "balance to be put right" in text(as_manager.get("/money/"))


def test_a_payment_is_kept_and_a_bad_one_stays_in_the_form(job, as_manager):
    invoice = issue(job, "deposit")
    entered = {"amount": "1600.00", "on": "2027-01-11", "method": "card", "note": "at the “door” 🎹"}
    answer = as_manager.post(f"/invoices/{invoice.number}/pay/", entered)
    assert answer.status_code == 422
    assert "more than the £1,560.00 still open" in text(answer)
    assert "at the “door” 🎹" in text(answer)
    assert 'value="1600.00"' in text(answer)
    for bad in ({"amount": "ten"}, {"amount": ""}, {"on": "soon"}, {"on": "2027-01-12"}, {"method": "barter"}):
        assert as_manager.post(f"/invoices/{invoice.number}/pay/", {**entered, "amount": "5", **bad}).status_code == 422
    assert not Payment.objects.exists()
    answer = as_manager.post(f"/invoices/{invoice.number}/pay/", {**entered, "amount": "600"}, follow=True)
    assert "£960.00 of invoice 1 is to be paid by" in text(answer)
    assert "£100.00" in text(answer), "the VAT in 600"
    assert 'value="960.00"' in text(answer), "what is open stands in the form"


def test_an_invoice_is_taken_back_and_its_money_carried_over(job, as_manager):
    wrong = issue(job, "deposit")
    pay(wrong)
    assert as_manager.post(f"/invoices/{wrong.number}/credit/", {"reason": " "}).status_code == 422
    answer = as_manager.post(f"/invoices/{wrong.number}/credit/", {"reason": "to the wrong name"}, follow=True)
    assert "£1,560.00 is to be paid back on no. 2." in text(answer)
    assert "to pay back" in text(as_manager.get("/money/"))
    right = issue(job, "deposit")
    assert f"Carry it over to invoice {right.number}" in text(as_manager.get("/invoices/2/"))
    for bad in ("", "x", "99", "9" * 30, "1"):
        answer = as_manager.post("/invoices/2/carry/", {"to": bad}, follow=True)
        assert "Invoice 3" not in text(answer).split("<main")[0]
    assert Payment.objects.count() == 1
    answer = as_manager.post("/invoices/2/carry/", {"to": str(right.number)}, follow=True)
    assert "£1,560.00 is carried over to invoice 3." in text(answer)
    assert "Invoice 3 is paid." in text(answer)


def test_a_paper_says_what_its_rows_say(job, as_manager):
    shop = the_shop()
    shop.vat_number = "GB 000 0000 00"
    shop.save()
    deposit = issue(job, "deposit")
    balance = issue(job, "balance")
    pay(balance, "1000.00", method="cheque")
    words = paper(as_manager, balance.number)
    for line in balance.lines.all():
        for figure in (line.net, line.vat, line.gross):
            assert money(figure) in words
        assert line.words in words
    assert f"{money(balance.net)} {money(balance.vat)} {money(balance.total)}" in words
    assert f"Less deposit, invoice {deposit.number} of Mon 11 Jan 2027" in words
    for said in (
        "Invoice 2", "Mrs Ferrowby", "GB 000 0000 00", "20 %", "Issued, and tax point Mon 11 Jan 2027",
        "To be paid by Mon 25 Jan 2027", "cheque £1,000.00 £166.67", "Still to be paid: £2,640.00",
        balance.content_hash,
    ):  # fmt: skip
        assert said in words, said


def test_a_paid_paper_says_when_and_a_credit_why(job, as_manager):
    invoice = issue(job, "deposit")
    pay(invoice)
    assert "Paid in full on Mon 11 Jan 2027" in paper(as_manager, 1)
    invoice_credit(invoice=invoice, by=make_manager(), on=TODAY, reason="wrong ♯ name")
    words = paper(as_manager, 2)
    for said in ("Credit 2", "Credit of invoice 1: wrong ♯ name", "-£1,560.00", "To be paid back to you: £1,560.00"):
        assert said in words, said
    assert "Taken back by credit 2" in paper(as_manager, 1)


def test_a_paper_is_frozen(job, as_manager):
    issue(job, "deposit")
    before = as_manager.get("/invoices/1/invoice.pdf").content
    client = job.instrument.client
    client.name, client.address = "Somebody Else", "elsewhere"
    client.save()
    job.agreed_total = D("1.00")
    job.save()
    assert as_manager.get("/invoices/1/invoice.pdf").content == before


def test_a_changed_row_is_told_on_the_page_and_in_the_room(job, as_manager):
    issue(job, "deposit")
    Invoice.objects.update(to_name="Mr Pasketh")
    assert "This invoice is not what was issued" in text(as_manager.get("/invoices/1/"))
    assert "Invoice 1 is not what was issued" in text(as_manager.get("/money/"))


def test_names_with_markup_are_text(as_manager):
    job = make_money_job(instrument=make_instrument(client=make_client('<b>"O\'Hara"</b> & 🎹')))
    issue(job, "deposit")
    page = as_manager.get("/invoices/1/").content.decode()
    assert "<b>&quot;" not in page.replace("<b>&lt;b&gt;", "")
    assert "&lt;b&gt;" in page
    assert "O'Hara" in paper(as_manager, 1)


def test_the_room_asks_as_often_at_50_jobs_with_invoices_as_at_5(as_manager):
    def count():
        with CaptureQueriesContext(connection) as asked:
            assert as_manager.get("/money/").status_code == 200
        return len(asked)

    by = make_manager()
    for _ in range(5):
        issue(make_money_job(), "deposit", by)
    few = count()
    for _ in range(45):
        issue(make_money_job(), "deposit", by)
    assert count() == few
    assert few < 25

"""The series of numbers: no gap under threads, processes and rollbacks; no change unnoticed."""

import contextlib
import subprocess
import sys
import threading
from decimal import Decimal as D

import pytest
from django.conf import settings
from django.db import connection, transaction
from django.db.models import ProtectedError

from jobs.billing.models import Invoice, InvoiceLine, InvoiceSeries
from jobs.billing.series import invoice_check, series_check
from jobs.billing.services import invoice_credit
from tests.factories import TODAY, make_manager
from tests.jobs.billing.money_made import issue, make_money_job
from tests.processes import environment
from workshop.web.errors import Refused


class Trouble(Exception):
    """What goes wrong after a number was taken."""


def race(workers):
    """Run all at once, each on a connection of its own; return what went wrong."""
    start, wrong = threading.Barrier(len(workers)), []

    def run(work):
        try:
            start.wait()
            work()
        except Exception as error:
            wrong.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(work,)) for work in workers]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    return wrong


@pytest.mark.django_db(transaction=True)
def test_racing_threads_with_rollbacks_leave_no_gap_and_no_number_twice():
    by, jobs = make_manager(), [make_money_job() for _ in range(8)]

    def work(place):
        def run():
            for point in ("deposit", "opened", "rebuilt"):
                if place % 2:
                    with contextlib.suppress(Trouble), transaction.atomic():
                        issue(jobs[place], point, by)
                        raise Trouble
                issue(jobs[place], point, by)

        return run

    assert race([work(place) for place in range(8)]) == []
    numbers = sorted(Invoice.objects.values_list("number", flat=True))
    assert numbers == list(range(1, 25))
    assert series_check() == []


@pytest.mark.django_db(transaction=True)
def test_one_point_asked_for_by_six_at_once_is_one_invoice():
    by, job = make_manager(), make_money_job()
    wrong = race([lambda: issue(job, "deposit", by)] * 6)
    assert [type(error) for error in wrong] == [Refused] * 5
    assert Invoice.objects.get().number == 1
    assert InvoiceSeries.objects.get().last_number == 1


@pytest.mark.django_db(transaction=True)
def test_an_invoice_taken_back_while_the_balance_is_made_is_not_counted_in_it():
    for _ in range(4):
        by, job = make_manager(), make_money_job()
        deposit = issue(job, "deposit", by)
        wrong = race([
            lambda job=job, by=by: issue(job, "balance", by),
            lambda invoice=deposit, by=by: invoice_credit(invoice=invoice, by=by, on=TODAY, reason="wrong"),
        ])  # fmt: skip
        assert all(isinstance(error, Refused) for error in wrong)
        assert sum(job.invoices.values_list("total", flat=True)) == D("5200.00")


PROGRAM = """
import sys
import django
django.setup()
from django.db import transaction
from jobs.billing.services import invoice_issue
from jobs.worklist.models import Job
from tests.factories import TODAY
from workshop.people.models import Person
by = Person.objects.get(role="manager", pk=int(sys.argv[1]))
for job in Job.objects.filter(pk__in=map(int, sys.argv[2:])):
    for point in ("deposit", "opened", "rebuilt", "balance"):
        try:
            with transaction.atomic():
                invoice_issue(job=job, point=point, by=by, on=TODAY)
                raise KeyError
        except KeyError:
            invoice_issue(job=job, point=point, by=by, on=TODAY)
"""


@pytest.mark.django_db(transaction=True)
def test_racing_processes_leave_no_gap(tmp_path):
    by, jobs = make_manager(), [make_money_job() for _ in range(6)]
    processes = [
        subprocess.Popen(
            [sys.executable, "-c", PROGRAM, str(by.pk), *(str(job.pk) for job in jobs[first::3])],
            env=environment(tmp_path), cwd=settings.BASE_DIR, stderr=subprocess.PIPE,
        )
        for first in range(3)
    ]  # fmt: skip
    said = [process.communicate(timeout=120)[1].decode() for process in processes]
    assert [process.returncode for process in processes] == [0, 0, 0], said
    assert sorted(Invoice.objects.values_list("number", flat=True)) == list(range(1, 25))
    assert series_check() == []


@pytest.fixture
def three(db):
    job = make_money_job()
    return [issue(job, point) for point in ("deposit", "opened", "rebuilt")]


def test_a_series_as_it_was_written_is_in_order(three):
    invoice_credit(invoice=three[2], by=make_manager(), on=TODAY, reason="wrong")
    assert series_check() == []
    assert all(invoice_check(one) for one in Invoice.objects.all())


@pytest.mark.parametrize(
    "change",
    [
        {"total": D("1.20"), "net": D("1.00"), "vat": D("0.20")},
        {"to_name": "Mr Pasketh"},
        {"to_address": "elsewhere"},
        {"about": "something else"},
        {"issued_on": TODAY.replace(year=2026)},
        {"due_on": TODAY},
        {"kind": "stage", "stage": "strung"},
    ],
)
def test_a_change_behind_our_back_is_told(three, change):
    Invoice.objects.filter(pk=three[0].pk).update(**change)
    assert series_check() == ["Invoice 1 is not what was issued: it was changed outside the tool."]


def test_an_invoice_moved_to_another_job_is_told(three):
    Invoice.objects.filter(pk=three[0].pk).update(job=make_money_job())
    assert "Invoice 1 is not what was issued" in series_check()[0]


@pytest.mark.parametrize("change", [{"words": "tea"}, {"net": D(1), "vat": D(0), "gross": D(1)}, {"vat_percent": D(5)}])
def test_a_changed_line_is_told(three, change):
    InvoiceLine.objects.filter(invoice=three[1]).update(**change)
    assert "Invoice 2 is not what was issued" in series_check()[0]
    assert not invoice_check(Invoice.objects.get(number=2))


def test_a_line_taken_out_is_told(three):
    InvoiceLine.objects.filter(invoice=three[1]).delete()
    assert "Invoice 2 is not what was issued" in series_check()[0]


def test_an_invoice_taken_out_is_told(three):
    with pytest.raises(ProtectedError):
        three[1].delete()
    InvoiceLine.objects.filter(invoice=three[1]).delete()
    three[1].delete()
    assert series_check() == ["Number 2 is missing from the series."]


def test_an_invoice_slipped_in_is_told(three):
    three[2].pk, three[2].number, three[2].stands, three[2]._state.adding = None, 9, False, True
    three[2].save()
    assert "Invoice 9 was not numbered by the series." in series_check()


def test_an_invoice_marked_as_taken_back_without_a_credit_is_told(three):
    Invoice.objects.filter(number=3).update(stands=False)
    assert series_check() == ["Invoice 3 is marked as credited without a credit, or the other way round."]


def test_much_that_is_wrong_is_cut_short_with_its_count(db):
    job = make_money_job()
    for _ in range(4):
        invoice_credit(invoice=issue(job, "deposit"), by=make_manager(), on=TODAY, reason="again")
    Invoice.objects.update(to_name="Somebody Else")
    told = series_check()
    assert len(told) == 6
    assert told[-1] == "There is more: 8 in all."

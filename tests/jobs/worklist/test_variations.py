"""Variations: found, priced, sent, answered once; what is agreed joins the job."""

import datetime as dt
from decimal import Decimal

import pytest

from jobs.worklist.models import Task, Variation
from jobs.worklist.queries import held_tasks, implied_by_variation
from jobs.worklist.services import (
    job_book_in,
    job_ready,
    job_return,
    variation_answer,
    variation_price,
    variation_report,
    variation_send,
    variation_withdraw,
)
from tests.factories import MOMENT, TODAY, make_operation, make_task
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db


def task_of(job, code):
    return job.tasks.get(operation__code=code, pass_number=1)


@pytest.fixture
def found(job, boss):
    """Two keys are cracked; bushing waits for the answer."""
    return variation_report(
        job=job, found="Two keys are cracked.", affects=[task_of(job, "ky-bush")], by=boss, at=MOMENT
    )


def price(variation, boss, adds=None, leaves=(), words="Repair the cracked keys."):
    adds = {"ky-repair": Decimal(1)} if adds is None else adds
    return variation_price(variation=variation, operations=adds, leaves_out=leaves, words=words, by=boss)


def send(variation, boss):
    return variation_send(variation=variation, by=boss, at=MOMENT, ready_on=dt.date(2027, 5, 7))


def answer(variation, *, agree=True, name="Zoë Ferrowby", **more):
    given = {"at": MOMENT + dt.timedelta(days=1), "content_hash": variation.content_hash, **more}
    return variation_answer(variation=variation, agree=agree, name=name, **given)


def test_what_is_found_holds_only_the_tasks_it_concerns(job, found):
    assert (found.number, held_tasks(job)) == (1, {task_of(job, "ky-bush").pk})


@pytest.mark.parametrize("words", ["", "   "])
def test_a_find_without_words_is_refused(job, boss, words):
    with pytest.raises(Refused, match="what was found"):
        variation_report(job=job, found=words, affects=[], by=boss, at=MOMENT)


def test_a_find_cannot_hold_the_task_of_another_job(job, boss):
    with pytest.raises(Refused, match="its own job"):
        variation_report(job=job, found="A crack.", affects=[make_task()], by=boss, at=MOMENT)
    assert not Variation.objects.exists()


def test_the_price_is_hours_at_the_rate_of_the_quote_with_its_vat(job, found, boss):
    priced = price(found, boss)
    rate, percent = job.quote.hourly_rate, job.quote.vat_percent
    assert priced.hours_likely == priced.operations.get().hours_likely >= 3
    assert priced.net == (priced.hours_likely * rate).quantize(Decimal("0.01"))
    assert priced.vat == (priced.net * percent / 100).quantize(Decimal("0.01"))
    assert priced.total == priced.net + priced.vat


def test_priced_again_it_holds_the_new_rows_only(found, boss):
    price(found, boss)
    price(found, boss, adds={"cs-dust": Decimal(2)})
    assert [(row.operation.code, row.quantity) for row in found.operations.all()] == [("cs-dust", 2)]


def test_left_out_work_is_paid_back_at_what_the_quote_charged_for_it(job, found, boss):
    """The quote charges the hours of the bundle; each operation has its share of them."""
    rows = job.scope.operations.exclude(because="refused")
    share = rows.get(operation__code="ky-weigh").hours_likely / sum(row.hours_likely for row in rows)
    priced = price(found, boss, adds={}, leaves=["ky-weigh"])
    assert priced.hours_likely == -(job.scope.hours_likely * share).quantize(Decimal("0.01"))
    assert priced.net == (priced.hours_likely * job.quote.hourly_rate).quantize(Decimal("0.01"))


@pytest.mark.parametrize(
    ("adds", "leaves", "sentence"),
    [
        ({"no-such": 1}, [], "no operation no-such"),
        ({}, ["cs-dust"], "is not waiting to be done"),
        ({}, ["in-report"], "is not waiting to be done"),
        ({"ky-weigh": 1}, ["ky-weigh"], "both added and left out"),
        ({"tn-settle": "1.5"}, [], "whole"),
        ({"cs-dust": 0}, [], "above nought"),
        ({"cs-dust": -3}, [], "above nought"),
        ({"ac-ubutt": 1}, [], "uprights only"),
    ],
)
def test_a_price_that_cannot_be_is_refused_in_words_and_leaves_the_rows(adds, leaves, sentence, found, boss):
    make_operation("ac-ubutt", applies_to="upright")
    price(found, boss)
    with pytest.raises(Refused, match=sentence):
        price(found, boss, adds={code: Decimal(count) for code, count in adds.items()}, leaves=leaves)
    assert [row.operation.code for row in found.operations.all()] == ["ky-repair"]


def test_what_added_work_makes_necessary_is_proposed_with_its_reason(job):
    (proposal,) = implied_by_variation(job, {"ky-bush": Decimal(1)})
    assert (proposal.code, proposal.why) == ("ky-repair", "because of: Work ky-bush (ky-bush)") or (
        proposal.code == "ky-repair" and "Work ky-bush" in proposal.why
    )
    assert implied_by_variation(job, {"ky-weigh": Decimal(1)}) == [proposal]


def test_it_is_frozen_when_sent_and_sent_once(found, boss):
    with pytest.raises(Refused, match="choose at least one"):
        send(found, boss)
    price(found, boss)
    sent = send(found, boss)
    assert (sent.state, len(sent.content_hash), sent.ready_on) == ("sent", 64, dt.date(2027, 5, 7))
    with pytest.raises(Refused, match="sent already"):
        send(found, boss)
    with pytest.raises(Refused, match="does not change"):
        price(found, boss)


def test_agreed_it_adds_tasks_in_their_place_and_raises_the_total(job, found, boss):
    before = job.agreed_total
    price(found, boss)
    agreed = answer(send(found, boss))
    job.refresh_from_db()
    assert (agreed.state, agreed.answered_name) == ("agreed", "Zoë Ferrowby")
    assert job.agreed_total == before + agreed.total
    repair = task_of(job, "ky-repair")
    assert repair.variation == agreed
    assert set(task_of(job, "ky-bush").after.all()) == {repair}
    assert set(repair.after.all()) == {task_of(job, "dm-open")}
    assert [task.position for task in job.tasks.all()] == list(range(1, 9))
    assert held_tasks(job) == set()


def test_agreed_work_that_is_left_out_lowers_the_total_and_the_order_holds_through_it(job, found, boss):
    before = job.agreed_total
    price(found, boss, adds={}, leaves=["ky-weigh"])
    agreed = answer(send(found, boss))
    job.refresh_from_db()
    assert job.agreed_total == before + agreed.total < before
    assert task_of(job, "ky-weigh").state == Task.State.LEFT_OUT
    assert set(task_of(job, "tn-settle").after.all()) == {task_of(job, "ky-bush")}


def test_work_a_sent_variation_leaves_out_is_not_begun_meanwhile(job, found, boss):
    price(found, boss, adds={}, leaves=["ky-weigh"])
    send(found, boss)
    assert task_of(job, "ky-weigh").pk in held_tasks(job)


def test_work_begun_since_it_was_priced_can_no_longer_be_left_out(job, found, boss):
    price(found, boss, adds={}, leaves=["ky-weigh"])
    job.tasks.filter(operation__code="ky-weigh").update(state=Task.State.AT_WORK)
    with pytest.raises(Refused, match="has been begun since"):
        send(found, boss)
    found.refresh_from_db()
    assert found.state == "found"


def test_declined_it_changes_nothing_and_frees_what_was_held(job, found, boss):
    before = job.agreed_total
    price(found, boss)
    assert answer(send(found, boss), agree=False).state == "declined"
    job.refresh_from_db()
    assert (job.agreed_total, job.tasks.count(), held_tasks(job)) == (before, 7, set())


@pytest.mark.parametrize("first", [True, False])
@pytest.mark.parametrize("second", [True, False])
def test_a_second_answer_is_refused_and_says_who_answered_when(job, found, boss, first, second):
    price(found, boss)
    sent = send(found, boss)
    answer(sent, agree=first)
    count = job.tasks.count()
    with pytest.raises(Refused, match=r"Zoë Ferrowby answered this on Tue 12 Jan 2027: (agreed|declined)"):
        answer(sent, agree=second, name="Mr Ferrowby")
    assert job.tasks.count() == count


@pytest.mark.parametrize(
    "change",
    [
        lambda one: Variation.objects.filter(pk=one.pk).update(total=Decimal("1.00")),
        lambda one: Variation.objects.filter(pk=one.pk).update(words="Something else."),
        lambda one: Variation.objects.filter(pk=one.pk).update(ready_on=TODAY),
        lambda one: one.operations.update(quantity=Decimal(9)),
        lambda one: one.operations.update(adds=False),
        lambda one: one.operations.all().delete(),
    ],
)
def test_content_changed_behind_our_back_takes_no_answer(job, found, boss, change):
    price(found, boss)
    sent = send(found, boss)
    change(sent)
    with pytest.raises(Refused, match="has changed since you opened it"):
        answer(sent)
    job.refresh_from_db()
    assert job.tasks.count() == 7


def test_another_hash_no_name_or_nothing_sent_takes_no_answer(found, boss):
    with pytest.raises(Refused, match="is not open"):
        answer(found)
    price(found, boss)
    sent = send(found, boss)
    with pytest.raises(Refused, match="has changed"):
        answer(sent, content_hash="0" * 64)
    with pytest.raises(Refused, match="your name"):
        answer(sent, name="  ")
    assert Variation.objects.get().answered_at is None


def test_withdrawn_it_frees_its_tasks_and_cannot_be_answered_or_withdrawn_again(job, found, boss):
    price(found, boss)
    sent = send(found, boss)
    assert variation_withdraw(variation=sent, by=boss).state == "withdrawn"
    assert held_tasks(job) == set()
    with pytest.raises(Refused, match="not open"):
        answer(sent)
    with pytest.raises(Refused, match="stays as it is"):
        variation_withdraw(variation=sent, by=boss)


def test_nothing_changes_on_a_job_that_went_home(job, found, boss):
    price(found, boss)
    sent = send(found, boss)
    job_book_in(job=job, by=boss, on=TODAY)
    job_ready(job=job, on=TODAY)
    job_return(job=job, by=boss, on=TODAY)
    with pytest.raises(Refused, match="The job is returned"):
        answer(sent)
    with pytest.raises(Refused, match="The job is returned"):
        variation_report(job=job, found="A crack.", affects=[], by=boss, at=MOMENT)

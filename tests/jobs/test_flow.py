"""What follows from an event across the steps of a job, all of it or nothing."""

import datetime as dt
from decimal import Decimal

import pytest
from django.utils import timezone

from jobs import flow, tasks
from jobs.billing.models import Invoice
from jobs.operations.models import OperationPart
from jobs.quoting.models import Answer
from jobs.quoting.services import quote_send, quote_start, scope_write
from jobs.scheduling import services as scheduling_services
from jobs.scheduling.models import Plan, PlanWish, Promise
from jobs.scheduling.wishes import GIVEN_UP_AFTER, wish_ask
from jobs.supplies.models import Need
from jobs.updates.models import Update
from jobs.verification.models import Target
from jobs.worklist.models import Job
from tests.factories import (
    MOMENT,
    make_assessment,
    make_client,
    make_instrument,
    make_job,
    make_manager,
    make_operation,
    make_part,
    make_place,
    make_reading,
    make_task,
    make_technician,
)
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db
NAME = "Zoë Ferrowby"
READY = dt.date(2027, 5, 7)


@pytest.fixture
def boss(db):
    return make_manager()


@pytest.fixture
def sent(boss):
    """A quote with a date, sent: weighing off keys whose down weight was read, and a part to buy."""
    weigh = make_operation("ky-weigh")
    OperationPart.objects.create(operation=weigh, part=make_part("key-lead", unit="piece"), quantity=Decimal(12))
    piano = make_instrument(client=make_client(NAME))
    assessment = make_assessment(piano, by=make_technician(), finished_at=MOMENT)
    for key in (1, 40, 85):
        make_reading(assessment, key, 62).measure.points_to.add(weigh)
    quote = quote_start(instrument=piano, assessment=assessment, by=boss, at=MOMENT)
    scope = quote.scopes.get()
    scope_write(scope=scope, chosen={"ky-weigh": None}, refused={}, title="Even keys")
    return quote_send(quote=quote, by=boss, at=MOMENT, ready={scope.pk: (READY, Decimal("0.80"))})


def accept(quote, **more):
    given = {
        "scope": quote.scopes.get(), "name": NAME, "words": "", "at": MOMENT, "via": "private link",
        "content_hash": quote.content_hash,
    }  # fmt: skip
    return flow.quote_answered(quote, **{**given, **more})


def test_an_accepted_quote_becomes_a_job_with_all_that_follows(sent):
    accept(sent)
    job = Job.objects.get(quote=sent)
    assert job.agreed_total == sent.scopes.get().total_likely
    need = Need.objects.get(task__job=job)
    assert (need.part.code, need.quantity) == ("key-lead", 12)
    target = Target.objects.get(job=job)
    assert (target.measure.code, target.low, target.high) == ("down-weight", 46, 54)
    promise = Promise.objects.get(job=job)
    assert (promise.date, promise.chance, promise.reason) == (READY, Decimal("0.80"), f"as in quote {sent.number}")
    deposit = Invoice.objects.get(job=job)
    assert deposit.kind == "deposit"
    # 30 per cent, and to the penny: the worked figure of the totals has its own tests.
    assert abs(deposit.total - job.agreed_total * sent.deposit_percent / 100) <= Decimal("0.01")
    draft = Update.objects.get(event_key=f"accepted:{job.pk}")
    assert draft.state == "draft"
    assert "“Even keys”" in draft.body
    assert str(sent.number) in PlanWish.objects.get().why


def test_a_declined_quote_becomes_nothing(sent):
    assert accept(sent, scope=None).kind == "declined"
    for model in (Job, Need, Promise, Invoice, PlanWish, Update):
        assert not model.objects.exists(), model


def test_what_breaks_half_way_leaves_nothing_behind(sent, monkeypatch):
    def break_down(**_):
        raise Refused("No number can be given.")

    monkeypatch.setattr("jobs.billing.services.invoice_issue", break_down)
    with pytest.raises(Refused, match="No number"):
        accept(sent)
    sent.refresh_from_db()
    assert sent.state == "sent"
    for model in (Answer, Job, Need, Promise, Invoice, PlanWish):
        assert not model.objects.exists(), model


def second_quote(quote, boss):
    again = quote_start(instrument=quote.instrument, assessment=quote.assessment, by=boss, at=MOMENT)
    scope_write(scope=again.scopes.get(), chosen={"ky-weigh": None}, refused={}, title="Even keys once more")
    return again


def test_a_second_quote_waits_until_the_first_job_has_gone_home(sent, boss):
    accept(sent)
    again = second_quote(sent, boss)
    with pytest.raises(Refused, match="in our hands already: its job is accepted. More work on it now is a variation"):
        flow.quote_sent(again, boss, MOMENT)
    again.refresh_from_db()
    assert again.state == "draft"
    Job.objects.update(state=Job.State.RETURNED)
    assert flow.quote_sent(again, boss, MOMENT).state == "sent"


def test_a_quote_that_went_out_beside_a_job_opens_no_second_one(sent, boss):
    accept(sent)
    again = quote_send(quote=second_quote(sent, boss), by=boss, at=MOMENT)
    with pytest.raises(Refused, match="in our hands already"):
        accept(again)
    again.refresh_from_db()
    assert (again.state, Job.objects.count(), Answer.objects.count()) == ("sent", 1, 1)


@pytest.mark.parametrize(("days", "promised"), [(8, 0), (9, 1), (10, 1)])
def test_a_date_that_has_passed_when_the_answer_comes_is_not_promised(boss, days, promised):
    make_operation("ky-weigh")
    quote = quote_start(instrument=make_instrument(), assessment=None, by=boss, at=MOMENT)
    scope = quote.scopes.get()
    scope_write(scope=scope, chosen={"ky-weigh": None}, refused={}, title="Even keys")
    home = (MOMENT.date() + dt.timedelta(days=days), Decimal("0.80"))
    quote = quote_send(quote=quote, by=boss, at=MOMENT, ready={scope.pk: home})
    accept(quote, at=MOMENT + dt.timedelta(days=9))
    assert (Job.objects.count(), Promise.objects.count()) == (1, promised)


@pytest.fixture
def house(boss):
    """One job with one task, and somebody to do it."""
    make_technician()
    make_place("floor", 2)
    make_place("bench", 1)
    return make_task(make_job())


def test_a_wish_is_worked_out_once_whoever_takes_it(house, boss):
    wish = wish_ask(by=boss, at=MOMENT, why="a test")
    plan = flow.plan_worked_out(wish, at=MOMENT)
    assert plan.stints.filter(task=house).exists()
    assert flow.plan_worked_out(wish, at=MOMENT) is None
    wish.refresh_from_db()
    assert (wish.plan, wish.trouble, Plan.objects.count()) == (plan, "", 1)
    assert wish.done_at is not None


def test_a_wish_that_cannot_be_met_says_why_and_keeps_the_old_plan(house, boss, monkeypatch):
    old = flow.plan_worked_out(wish_ask(by=boss, at=MOMENT, why="first"), at=MOMENT)

    def refuse(**_):
        raise Refused("The house cannot be planned: nobody works here.")

    monkeypatch.setattr("jobs.scheduling.services.plan_renew", refuse)
    wish = wish_ask(by=boss, at=MOMENT, why="second")
    assert flow.plan_worked_out(wish, at=MOMENT) is None
    wish.refresh_from_db()
    assert "nobody works here" in wish.trouble
    assert wish.done_at is not None
    assert Plan.objects.get(is_current=True) == old


@pytest.mark.parametrize(("times", "made"), [(2, True), (3, False)])
def test_a_plan_overtaken_by_another_is_worked_out_again_a_few_times(house, boss, monkeypatch, times, made):
    left, renew = list(range(times)), scheduling_services.plan_renew

    def overtaken(**given):
        if left:
            left.pop()
            raise scheduling_services.Overtaken
        return renew(**given)

    monkeypatch.setattr(scheduling_services, "plan_renew", overtaken)
    wish = wish_ask(by=boss, at=MOMENT, why="a test")
    assert (flow.plan_worked_out(wish, at=MOMENT) is not None) == made
    wish.refresh_from_db()
    assert ("Work it out again" in wish.trouble, wish.done_at is None) == (not made, False)


def test_wishes_nobody_has_begun_become_one(boss):
    first = wish_ask(by=boss, at=MOMENT, why="the first")
    assert wish_ask(by=None, at=MOMENT, why="the second") == first
    assert wish_ask(by=None, at=MOMENT, why="the second") == first
    assert PlanWish.objects.get().why == "the first; the second"


@pytest.mark.django_db(transaction=True)
def test_a_nudge_that_is_lost_leaves_the_wish_and_the_workers_clock_takes_it_up(house, boss, monkeypatch):
    def no_broker(**_):
        raise ConnectionError("nobody listens")

    monkeypatch.setattr(tasks.plan_make, "apply_async", no_broker)
    now = timezone.now()
    wish = flow.plan_wanted(by=boss, at=now - 2 * tasks.LATE, why="a test")
    assert (Plan.objects.count(), wish.begun_at) == (0, None)
    tasks.plan_tick()
    wish.refresh_from_db()
    assert wish.plan == Plan.objects.get(is_current=True)
    tasks.plan_tick()
    assert Plan.objects.count() == 1


def test_the_clock_leaves_a_fresh_wish_to_its_nudge(house, boss):
    wish_ask(by=boss, at=timezone.now(), why="just now")
    tasks.plan_tick()
    assert not Plan.objects.exists()


def test_a_wish_whose_worker_died_is_taken_up_again(house, boss):
    long_ago = timezone.now() - GIVEN_UP_AFTER - dt.timedelta(minutes=1)
    wish = wish_ask(by=boss, at=long_ago, why="a test")
    PlanWish.objects.update(begun_at=long_ago)
    tasks.plan_tick()
    wish.refresh_from_db()
    assert wish.plan is not None


def test_a_nudge_for_a_wish_that_is_gone_does_nothing(db):
    tasks.plan_make(999_999)
    assert not Plan.objects.exists()


def test_a_moved_date_is_told_once_and_the_first_date_is_not(boss):
    job = make_job()
    flow.date_moved(job, date=READY, by=boss, at=MOMENT, reason="", chance=None)
    assert not Update.objects.exists()
    flow.date_moved(
        job, date=READY + dt.timedelta(days=7), by=boss, at=MOMENT, reason="The felt came late.", chance=None
    )
    draft = Update.objects.get()
    assert "Fri 7 May 2027" in draft.body
    assert "Fri 14 May 2027" in draft.body
    assert "The felt came late." in draft.body

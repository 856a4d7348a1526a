"""What if this were accepted now: a date beside all the other work of the house."""

import datetime as dt
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from jobs.estimating.services import bundle_hours, hours_for
from jobs.flow import letter_dates, ready_dates
from jobs.hours.models import TimeEntry
from jobs.quoting.services import quote_start, scope_write
from jobs.scheduling.models import Plan, Promise, Stint
from jobs.scheduling.services import plan_make
from jobs.scheduling.tryout import READY_CHANCE, TryOut, what_if
from jobs.worklist.models import Task
from tests.factories import MOMENT, make_instrument, make_job, make_manager, make_operation, make_person, make_skill
from tests.jobs.scheduling.stored import make_shop, make_work
from workshop.places.models import Place

pytestmark = pytest.mark.django_db

LATER = dt.timedelta(days=14)
EARLIEST = dt.date(2027, 1, 18)  # a week after MOMENT: it must be brought first


def days_of(tries, **more):
    """The day each is finished if the answer came today and nobody else moved."""
    today = MOMENT.date()
    found = what_if(tries, at=MOMENT, answers=(today, today + LATER), **more)
    return {name: days[0].calm.day for name, days in found.items()}


def house():
    make_shop()
    return make_person("Corin", skills=("action",))


def ready(operations, **more):
    one = TryOut("it", make_instrument(), {code: Decimal(count) for code, count in operations.items()})
    return days_of([one], **more).get("it")


def test_work_is_stretched_to_the_hours_that_hold_eight_times_in_ten():
    house()
    bush = make_operation("ky-bush")
    hours = bundle_hours([hours_for(operation=bush, quantity=Decimal(1), kind="grand")])
    assert -(-hours.figure_80 // 8) > -(-hours.sum_likely // 8), "else this case could not tell the two apart"
    days = -(-hours.figure_80 // 8)
    assert ready({"ky-bush": 1}) == EARLIEST + dt.timedelta(days=days - 1)


def test_two_things_in_order_with_a_rest_between_come_later_than_one():
    house()
    glue = make_operation("cs-glue", wait_hours=72)
    polish = make_operation("cs-polish")
    polish.before.set([glue])
    alone, both = ready({"cs-polish": 1}), ready({"cs-glue": 1, "cs-polish": 1})
    assert both >= alone + dt.timedelta(days=3)


def test_other_work_of_the_house_comes_first_and_hours_already_worked_count():
    house()
    make_operation("ky-bush")
    free = ready({"ky-bush": 1})
    busy = make_work(None, 80)
    Promise.objects.create(job=busy.job, date=dt.date(2027, 1, 22), given_at=MOMENT)
    later = ready({"ky-bush": 1})
    assert later > dt.date(2027, 1, 22)
    assert ready({"ky-bush": 1}, logged={busy.pk: 79 * 60}) == free


def test_nothing_is_written_and_the_plan_in_force_stays():
    house()
    make_operation("ky-bush")
    make_work(None, 6)
    before = plan_make(by=None, at=MOMENT, why="before")
    assert ready({"ky-bush": 1}) is not None
    assert list(Plan.objects.all()) == [before]


def test_work_that_cannot_be_planned_has_no_date():
    house()
    make_operation("cs-gild", skill=make_skill("gilding"))
    make_operation("ky-bush")
    tries = [TryOut("gild", make_instrument(), {"cs-gild": Decimal(1)}),
             TryOut("bush", make_instrument(), {"ky-bush": Decimal(1)})]  # fmt: skip
    assert days_of(tries).keys() == {"bush"}
    Place.objects.filter(kind="floor").delete()
    assert days_of(tries) == {}


def test_assessing_and_visits_at_home_are_not_tried():
    house()
    make_operation("as-read", stage="assessing")
    make_operation("tn-home", stage="finish", work_place="home")
    assert ready({"as-read": 1, "tn-home": 1}) is None


def test_each_way_of_a_quote_gets_its_date_and_refused_work_is_left_out():
    corin = house()
    boss = make_manager()
    make_operation("ky-bush")
    make_operation("st-string", hours_low=Decimal(30), hours_likely=Decimal(40), hours_high=Decimal(60))
    begun = make_work(None, 300, state="at_work")
    for day in range(30):
        on = MOMENT.date() - dt.timedelta(days=day)
        TimeEntry.objects.create(task=begun, person=corin, on=on, minutes=598, kept_at=MOMENT)
    quote = quote_start(instrument=make_instrument(), assessment=None, by=boss, at=MOMENT)
    small = quote.scopes.first()
    scope_write(scope=small, chosen={"ky-bush": None}, refused={"st-string": "not now"}, title="Small")
    found = ready_dates(quote, MOMENT)
    day, chance = found[small.pk]
    assert chance == READY_CHANCE
    fortnight = dt.timedelta(days=14)  # the letter names a day that holds for an answer within two weeks
    assert EARLIEST + fortnight <= day < EARLIEST + fortnight + dt.timedelta(days=7), (
        "hours already worked count, refused work does not"
    )


# ---- what it does to the other jobs, and an answer that comes later -----------------------------------------


def asked(**more):
    make_operation("ky-bush")
    one = TryOut("it", make_instrument(), {"ky-bush": Decimal(1)})
    today = MOMENT.date()
    return what_if([one], at=MOMENT, answers=(today, today + LATER), **more)["it"]


def busy_from(corin, promised=None):
    """Five weeks of Corin's in force from the fourth week on, for an instrument that has not come yet."""
    work = make_work(make_job(state="accepted", booked_in_on=None), 200)
    plan = Plan.objects.create(made_at=MOMENT, is_current=True)
    for day in (day for day in range(21, 56) if day % 7 < 5):
        begins = MOMENT.replace(hour=8) + dt.timedelta(days=day)
        Stint.objects.create(
            plan=plan, task=work, person=corin, starts_at=begins, ends_at=begins + dt.timedelta(hours=8)
        )
    if promised:
        Promise.objects.create(job=work.job, date=promised, given_at=MOMENT)
    return work


def test_the_plan_in_force_is_what_it_is_tried_beside_and_a_later_answer_is_told_beside_it():
    corin = house()
    work = busy_from(corin)
    today, later = asked()
    end = dt.date(2027, 3, 5)
    assert (today.answer, today.arrives) == (MOMENT.date(), EARLIEST)
    assert today.calm.day < dt.date(2027, 1, 25), "the second and third weeks are free"
    assert later.arrives == EARLIEST + dt.timedelta(days=14)
    assert later.calm.day > end
    assert not later.calm.moved
    sooner = later.kept
    assert sooner.day < end
    (moved,) = sooner.moved
    assert (moved.instrument, moved.was, moved.promised, moved.passes) == (work.job.instrument, end, None, False)
    assert moved.days == (moved.becomes - end).days > 0


def test_a_promise_that_would_be_passed_is_named_and_only_when_it_goes_first():
    corin = house()
    busy_from(corin, promised=dt.date(2027, 3, 5))
    _, later = asked()
    assert later.kept is None
    (moved,) = later.first.moved
    assert (moved.promised, moved.passes) == (dt.date(2027, 3, 5), True)


def test_a_later_answer_never_gives_an_earlier_date_and_nothing_is_written():
    corin = house()
    busy_from(corin, promised=dt.date(2027, 3, 12))
    make_operation("ky-bush")
    one = TryOut("it", make_instrument(), {"ky-bush": Decimal(1)})
    days = [MOMENT.date() + dt.timedelta(days=3 * number) for number in range(12)]
    found = what_if([one], at=MOMENT, answers=days)["it"]
    for kind in ("calm", "kept", "first"):
        told = [getattr(each, kind).day for each in found if getattr(each, kind)]
        assert told == sorted(told)
    assert Plan.objects.count() == 1


def test_a_plan_that_no_longer_holds_is_made_anew_for_the_trial_alone():
    corin = house()
    busy_from(corin)
    make_work(None, 40)  # came after the plan was made
    today, _ = asked()
    assert today.calm.day >= dt.date(2027, 1, 18)
    assert Plan.objects.count() == 1


def test_it_asks_the_database_as_often_for_five_ways_and_ten_instruments_as_for_one():
    house()
    make_operation("ky-bush")

    def count(ways):
        tries = [TryOut(str(number), piano, {"ky-bush": Decimal(1)}) for number in range(ways)]
        with CaptureQueriesContext(connection) as found:
            assert len(what_if(tries, at=MOMENT, answers=(MOMENT.date(),))) == ways
        return len(found)

    piano = make_instrument()
    make_work(None, 4)
    count(1)  # the learner of the process is built the first time
    first = count(1)
    for _ in range(9):
        make_work(make_job(), 4)
    assert count(5) == first


def test_a_letter_names_a_day_that_holds_for_two_weeks_and_until_when_an_answer_keeps_it():
    corin = house()
    boss = make_manager()
    boss.on_the_bench = False
    boss.save()
    make_operation("ky-bush")
    busy_from(corin)
    quote = quote_start(instrument=make_instrument(), assessment=None, by=boss, at=MOMENT)
    scope_write(scope=quote.scopes.get(), chosen={"ky-bush": None}, refused={}, title="Keys")
    ready, answer_by = letter_dates(quote, MOMENT)
    (scope,) = ready
    today = MOMENT.date()
    # From 1 February, when an instrument agreed on by the 25th comes, Corin is taken until 5 March: then one day is as
    # good as another, up to the end of the quote on 8 February.
    assert ready[scope][0] > dt.date(2027, 3, 5)
    assert answer_by[scope] == today + dt.timedelta(days=28)
    Stint.objects.filter(starts_at__date__gte=dt.date(2027, 2, 8)).delete()
    Task.objects.update(hours_likely=Decimal(40))
    ready, answer_by = letter_dates(quote, MOMENT)
    # Taken for the week of 1 February only: agreed on by the 1st, it comes by the 8th, when Corin is free.
    assert dt.date(2027, 2, 8) <= ready[scope][0] < dt.date(2027, 2, 12)
    assert answer_by[scope] == today + dt.timedelta(days=21)

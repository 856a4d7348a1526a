"""What if this were accepted now: a date beside all the other work of the house."""

import datetime as dt
from decimal import Decimal

import pytest

from jobs.estimating.services import bundle_hours, hours_for
from jobs.flow import ready_dates
from jobs.hours.models import TimeEntry
from jobs.quoting.services import quote_start, scope_write
from jobs.scheduling.models import Plan, Promise
from jobs.scheduling.services import plan_make
from jobs.scheduling.tryout import READY_CHANCE, TryOut, what_if_ready
from tests.factories import MOMENT, make_instrument, make_manager, make_operation, make_person, make_skill
from tests.jobs.scheduling.stored import make_shop, make_work
from workshop.places.models import Place

pytestmark = pytest.mark.django_db

EARLIEST = dt.date(2027, 1, 18)  # a week after MOMENT: it must be brought first


def house():
    make_shop()
    return make_person("Corin", skills=("action",))


def ready(operations, **more):
    one = TryOut("it", make_instrument(), {code: Decimal(count) for code, count in operations.items()})
    return what_if_ready([one], at=MOMENT, **more).get("it")


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
    assert what_if_ready(tries, at=MOMENT).keys() == {"bush"}
    Place.objects.filter(kind="floor").delete()
    assert what_if_ready(tries, at=MOMENT) == {}


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
    assert EARLIEST <= day < EARLIEST + dt.timedelta(days=7), "hours already worked count, refused work does not"

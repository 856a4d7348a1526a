"""Every page that lists asks the database as often at 50 rows as at 5, on work that is really under way."""

import datetime as dt
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from jobs.hours.models import TimeEntry
from jobs.intake.models import Enquiry
from jobs.quoting.models import TalkWish
from jobs.scheduling.models import JobEnd, Plan, Promise, Stint
from jobs.supplies.models import Need
from jobs.updates.models import Update
from jobs.worklist.models import Variation
from tests.factories import (
    make_client,
    make_instrument,
    make_job,
    make_operation,
    make_part,
    make_place,
    make_quote,
    make_scope,
    make_task,
    make_technician,
)
from tests.jobs.billing.money_made import issue

pytestmark = pytest.mark.django_db
PAGES = [
    "desk-today", "desk-instruments", "quote-list", "money-list", "hours-list", "updates-list", "norms-list",
    "plan-show", "needs-list", "enquiry-list", "client-list", "bench-mine",
]  # fmt: skip
FEW, MANY = 5, 50


class World:
    """A house that can be made fuller."""

    def __init__(self, manager):
        self.manager, self.now, self.today = manager, timezone.now(), timezone.localdate()
        self.person = make_technician()
        self.plan = Plan.objects.create(made_at=self.now, is_current=True)
        self.count = 0
        make_place("floor", 80)
        make_place("bench", 2)

    def grow(self, until):
        while self.count < until:
            self.count += 1
            self.add(self.count)

    def add(self, number):
        piano = make_instrument(client=make_client(f"Owner {number}"))
        operation = make_operation(f"op-{number}")
        quote = make_quote(piano, by=self.manager)
        make_scope(quote, total_likely=Decimal(1000))
        job = make_job(piano, quote=quote)
        task = make_task(job, operation)
        self.work(number, job, task)
        self.letters(number, piano, job)
        asked = make_quote(make_instrument(client=piano.client), by=self.manager)
        make_scope(asked)
        type(asked).objects.filter(pk=asked.pk).update(
            state="sent", sent_at=self.now, valid_until=self.today, content_hash="0" * 64
        )
        TalkWish.objects.create(quote=asked, at=self.now, words="May we talk?")
        Enquiry.objects.create(instrument=make_instrument(client=piano.client), aim="To play.", received_on=self.today)

    def work(self, number, job, task):
        start = self.now + dt.timedelta(hours=number)
        Stint.objects.create(
            plan=self.plan, task=task, person=self.person, starts_at=start, ends_at=start + dt.timedelta(hours=1)
        )
        JobEnd.objects.create(plan=self.plan, job=job, ends_on=self.today + dt.timedelta(days=number))
        for days in (10, 20):
            Promise.objects.create(job=job, date=self.today + dt.timedelta(days=days), given_at=self.now, reason="so")
        TimeEntry.objects.create(task=task, person=self.person, on=self.today, minutes=7, kept_at=self.now)
        Need.objects.create(task=task, part=make_part(f"part-{number}"), quantity=1)
        found = Variation.objects.create(
            job=job, number=1, found="A crack.", found_at=self.now, found_by=self.person, state="found"
        )
        found.affects.add(task)

    def letters(self, number, piano, job):
        Update.objects.create(
            client=piano.client, instrument=piano, job=job, event="booked_in", event_key=f"booked_in:{job.pk}",
            happened_at=self.now, subject="It is here", body="All well.",
        )  # fmt: skip
        issue(job, "deposit", self.manager, on=self.today)


@pytest.fixture
def world(manager):
    return World(manager)


def asked(client, name):
    with CaptureQueriesContext(connection) as queries:
        answer = client.get(reverse(name))
        assert answer.status_code == 200
    return [one["sql"] for one in queries], len(answer.content)


def again_and_again(few, many):
    """Return the questions that came more often with more rows, by their shape."""

    def shapes(asked):
        found = {}
        for sql in asked:
            shape = sql.split(" WHERE ")[0][:160]
            found[shape] = found.get(shape, 0) + 1
        return found

    before = shapes(few)
    return {shape: count for shape, count in shapes(many).items() if count > before.get(shape, 0)}


@pytest.mark.parametrize("name", PAGES)
def test_a_page_asks_as_often_at_50_rows_as_at_5(name, world, as_manager):
    if name == "bench-mine":
        as_manager.force_login(world.person, backend="django.contrib.auth.backends.ModelBackend")
    world.grow(FEW)
    asked(as_manager, name)
    few, short = asked(as_manager, name)
    world.grow(MANY)
    many, long = asked(as_manager, name)
    assert len(many) == len(few), again_and_again(few, many)
    assert len(many) < 45
    assert long > short * 1.05, "the page shows no more than before: nothing was tried"

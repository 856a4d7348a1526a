"""Several people press at once: one plan is in force, and it is a whole one."""

import datetime as dt
import threading

import pytest
from django.db import connection, connections

from jobs import flow
from jobs.scheduling.models import Plan, PlanWish
from jobs.scheduling.services import offers_dismiss, plan_accept, plan_make, plan_renew
from jobs.scheduling.wishes import wish_ask, wish_take
from tests.factories import MOMENT, make_manager, make_person
from tests.jobs.scheduling.stored import broken, make_shop, make_work
from workshop.people.models import Leave, Person
from workshop.web.errors import Refused

PRESSERS = 4


def at_once(what):
    """Run something in several threads that begin together, each with a connection of its own."""
    gate, raised, told = threading.Barrier(PRESSERS), [], []

    def press(number):
        try:
            gate.wait(20)
            told.append(what(number))
        except Exception as error:
            raised.append(error)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=press, args=(number,)) for number in range(PRESSERS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert raised == []
    return told


def house():
    make_shop()
    make_person("Corin", skills=("action",))
    for _ in range(3):
        make_work(None, 6)


@pytest.mark.django_db(transaction=True)
def test_people_who_press_at_once_leave_one_whole_plan_in_force():
    house()
    plans = at_once(lambda number: plan_make(by=None, at=MOMENT, why=f"pressed by {number}"))
    assert Plan.objects.count() == len({plan.pk for plan in plans}) == PRESSERS
    current = Plan.objects.get(is_current=True)
    assert (current.stints.count(), current.ends.count()) == (5, 3)
    assert broken(current) == []


@pytest.mark.django_db(transaction=True)
def test_a_wish_is_taken_in_hand_by_one_worker_only():
    wish = wish_ask(by=None, at=MOMENT, why="parts arrived")
    taken = at_once(lambda number: wish_take(wish=wish, at=MOMENT))
    assert sorted(taken) == [False] * (PRESSERS - 1) + [True]


@pytest.mark.django_db(transaction=True)
def test_workers_who_are_told_of_the_same_wish_make_one_plan():
    house()
    wish = wish_ask(by=None, at=MOMENT, why="parts arrived")
    plans = at_once(lambda number: flow.plan_worked_out(PlanWish.objects.get(pk=wish.pk), at=MOMENT))
    assert len([plan for plan in plans if plan is not None]) == Plan.objects.count() == 1
    wish.refresh_from_db()
    assert wish.plan == Plan.objects.get()


def offered():
    """One way that waits: Corin is ill tomorrow."""
    plan_make(by=None, at=MOMENT, why="told")
    tomorrow = MOMENT.date() + dt.timedelta(days=1)
    Leave.objects.create(person=Person.objects.get(first_name="Corin"), first_day=tomorrow, last_day=tomorrow)
    wish = wish_ask(by=None, at=MOMENT, why="Corin is ill")
    return plan_renew(wish=wish, at=MOMENT).offered[0]


def answer_at_once(way):
    """Half of them accept it and half keep the plan in force; return what each was told."""

    def answer(number):
        try:
            if number % 2:
                return str(offers_dismiss(plan=way, by=boss, at=MOMENT))
            return str(plan_accept(plan=way, by=boss, at=MOMENT).pk)
        except Refused as refused:
            return str(refused)

    old, boss = Plan.objects.get(is_current=True), make_manager()
    told = at_once(answer)
    assert len([words for words in told if "waits for an answer no more" in words]) == PRESSERS - 1, told
    assert Plan.objects.get(is_current=True) in (old, way)
    assert not Plan.objects.filter(is_offered=True).exists()


@pytest.mark.django_db(transaction=True)
def test_of_several_answers_to_what_is_offered_the_first_counts():
    house()
    answer_at_once(offered())


@pytest.mark.servers
@pytest.mark.django_db(transaction=True)
def test_the_same_holds_on_a_real_postgresql():
    assert connection.vendor == "postgresql"
    house()
    for round_number in range(3):
        at_once(lambda number, more=round_number: plan_make(by=None, at=MOMENT, why=f"{more}, {number}"))
        assert Plan.objects.filter(is_current=True).count() == 1
    assert Plan.objects.count() == 3 * PRESSERS
    Plan.objects.all().delete()
    answer_at_once(offered())

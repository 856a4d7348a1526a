"""A new plan that moves what people were told waits for the manager: accepted, refused when stale, thrown away."""

import datetime as dt
import threading
from decimal import Decimal

import pytest
from django.db import OperationalError

from jobs.hours.queries import minutes_of_open_tasks, people_at_work
from jobs.scheduling.calc.solve import Progress
from jobs.scheduling.models import Move, Plan, PlanWish, Promise
from jobs.scheduling.queries import current_plan, moved_since, plans_before, plans_offered
from jobs.scheduling.services import (
    Overtaken,
    offer_troubles,
    offers_dismiss,
    plan_accept,
    plan_make,
    plan_renew,
    plans_thin,
)
from jobs.scheduling.wishes import Telling, wish_stop, wish_take, wishes_waiting
from jobs.worklist.models import Task
from tests.factories import MOMENT, make_job, make_manager, make_person
from tests.jobs.scheduling.stored import local, make_ordered, make_shop, make_work, starts
from workshop.people.models import Leave
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)
LATER = MOMENT + dt.timedelta(hours=1)


@pytest.fixture
def house():
    """Corin has three days of work told, a task a day; nobody else works here."""
    make_shop()
    corin = make_person("Corin", skills=("action",))
    tasks = [make_work(make_job(), 7, name=f"task {number}") for number in range(3)]
    plan_make(by=None, at=MOMENT, why="told")
    return corin, sorted(tasks, key=lambda task: starts(current_plan(), task))


def wished(why="something happened", at=LATER, **more):
    return plan_renew(wish=PlanWish.objects.create(asked_at=at, begun_at=at, why=why), at=at, **more)


def away(person, first=1, last=1):
    day = MOMENT.date()
    Leave.objects.create(person=person, first_day=day + first * DAY, last_day=day + last * DAY, reason="ill")


def test_the_first_plan_is_put_in_force_at_once():
    make_shop()
    make_person("Corin", skills=("action",))
    make_work(None, 3)
    outcome = wished()
    assert (outcome.in_force, outcome.offered) == (current_plan(), ())


def test_a_plan_that_moves_nothing_and_breaks_no_promise_is_put_in_force_by_itself(house):
    old = current_plan()
    new = make_work(make_job(), 5)
    outcome = wished()
    assert outcome.in_force == current_plan() != old
    assert outcome.in_force.stints.filter(task=new).exists()
    assert (outcome.in_force.told, outcome.in_force.moved, Move.objects.count()) == (3, 0, 0)
    first = outcome.in_force.stints.order_by("starts_at")[0]
    assert first.ends_at - first.starts_at == dt.timedelta(hours=6), "an hour of its seven was told for this morning"


def test_work_in_the_middle_of_a_stint_goes_on_and_has_not_moved(house):
    outcome = wished(at=MOMENT + dt.timedelta(hours=3))
    assert outcome.in_force.moved == 0
    first = outcome.in_force.stints.get(task=house[1][0], starts_at__date=MOMENT.date())
    assert local(first.starts_at).hour == 12


def test_somebody_away_moves_work_and_the_plan_waits_with_a_reason_for_each_move(house):
    corin, tasks = house
    old = current_plan()
    away(corin)
    outcome = wished("Corin is ill")
    assert outcome.in_force is None
    assert current_plan() == old
    assert list(plans_offered()) == list(outcome.offered)
    way = outcome.offered[0]
    assert (way.is_current, way.answers, way.wish.why) == (False, old, "Corin is ill")
    moves = list(way.moves.all())
    assert way.moved == len(moves) == 2
    assert offer_troubles(way, at=LATER) == [], "it keeps every rule"
    second = next(move for move in moves if move.task == tasks[1])
    assert (second.was_person, second.person) == (corin, corin)
    assert local(second.was_at) == starts(old, tasks[1])
    assert local(second.starts_at) == starts(way, tasks[1]) > local(second.was_at)
    assert second.why == "Corin is not in on Tue 12 Jan"


def test_a_task_that_grew_and_the_one_that_makes_way_for_it_say_so(house):
    tasks = house[1]
    Task.objects.filter(pk=tasks[0].pk).update(hours_likely=Decimal(10))
    way = wished("it takes longer").offered[0]
    words = {move.task_id: move.why for move in way.moves.all()}
    number = tasks[0].job.instrument.number
    assert words[tasks[1].pk] == f"Corin does “{tasks[0].name}” on no. {number} then; that one needs more hours now"
    assert tasks[0].pk not in words, "it begins when it was to begin"


def test_a_part_that_is_late_and_what_comes_after_it_say_so():
    make_shop()
    make_person("Corin", skills=("action",))
    job = make_job()
    first = make_work(job, 4, name="fit the hammers")
    make_work(job, 3, after=[first], name="space them")
    plan_make(by=None, at=MOMENT, why="told")
    make_ordered(first, dt.date(2027, 1, 15))
    way = wished("late").offered[0]
    assert [move.why for move in way.moves.all()] == [
        "Hammers, set: expected Fri 15 Jan",
        "“fit the hammers” comes before it and is over on Fri 15 Jan",
    ]


def test_a_plan_that_moves_nothing_but_breaks_a_promise_waits():
    make_shop()
    make_person("Corin", skills=("action",))
    job = make_job()
    first = make_work(job, 6)
    last = make_work(job, 6, after=[first], wait_hours=0)
    Task.objects.filter(pk=first.pk).update(wait_hours=24 * 20)
    Promise.objects.create(job=job, date=dt.date(2027, 2, 3), given_at=MOMENT)
    plan_make(by=None, at=MOMENT, why="told")
    assert wished("again").in_force is not None
    Task.objects.filter(pk=last.pk).update(hours_likely=Decimal(40))
    outcome = wished("the last task grew", at=LATER + dt.timedelta(minutes=1))
    assert outcome.in_force is None
    assert [way.moved for way in outcome.offered] == [0]
    Promise.objects.all().delete()
    assert wished("no promise", at=LATER + dt.timedelta(minutes=2)).in_force is not None
    assert plans_offered() == [], "what was offered around the plan before is no answer any more"


def test_when_somebody_has_left_the_plan_goes_in_force_at_once(house):
    corin, tasks = house
    dilys = make_person("Dilys", skills=("action",))
    corin.is_active = False
    corin.save()
    outcome = wished("Corin has left")
    assert outcome.in_force == current_plan()
    assert set(current_plan().stints.values_list("person", flat=True)) == {dilys.pk}


def test_a_newer_result_replaces_what_was_offered(house):
    away(house[0])
    older = wished("first").offered
    newer = wished("second", at=LATER + dt.timedelta(minutes=5)).offered
    assert plans_offered() == list(newer)
    assert not Plan.objects.filter(pk__in=[plan.pk for plan in older]).exists()
    with pytest.raises(Overtaken):
        wished("begun before both, and done after them", at=LATER)
    assert plans_offered() == list(newer)


def test_what_is_offered_is_no_earlier_plan_and_is_not_thinned(house):
    old = current_plan()
    away(house[0])
    way = wished().offered[0]
    assert plans_before(way) == [old]
    newer = plan_make(by=None, at=LATER + DAY, why="by hand")
    assert plans_before(newer) == [old]
    assert moved_since(newer).since == old
    assert plans_offered() == []
    kept = Plan.objects.create(made_at=MOMENT, is_offered=True, answers=newer)
    assert plans_thin(at=MOMENT + 90 * DAY) == 0
    assert kept in plans_offered()


def accept(way, at=LATER + dt.timedelta(minutes=10)):
    return plan_accept(
        plan=way, by=make_manager(), at=at, logged=minutes_of_open_tasks(), working=people_at_work()
    )  # fmt: skip


def test_the_manager_accepts_and_the_plan_is_in_force(house):
    old = current_plan()
    away(house[0])
    way = wished().offered[0]
    made = accept(way)
    assert made == current_plan() == way
    old.refresh_from_db()
    assert (old.is_current, old.stints.exists(), plans_offered()) == (False, True, [])
    assert (made.wish.plan, made.wish.answered_by.first_name) == (made, "Tamsin")
    with pytest.raises(Refused, match="waits for an answer no more"):
        accept(way)


def test_time_that_passed_and_work_that_went_on_as_planned_keep_nobody_from_accepting(house):
    corin, tasks = house
    away(corin)
    way = wished().offered[0]
    Task.objects.filter(pk=tasks[0].pk).update(state="at_work", hours_left=Decimal(3))
    assert accept(way, at=MOMENT + dt.timedelta(hours=5)).is_current


def test_a_task_done_since_is_left_out_and_its_rest_is_kept(house):
    corin, tasks = house
    make_work(tasks[0].job, 3, after=[tasks[0]], name="after the glue")
    Task.objects.filter(pk=tasks[0].pk).update(wait_hours=48, wait_reason="glue")
    away(corin)
    way = wished().offered[0]
    done = MOMENT + dt.timedelta(hours=6)
    Task.objects.filter(pk=tasks[0].pk).update(state="done", done_at=done, done_by=corin)
    assert accept(way, at=done).is_current
    Plan.objects.update(is_current=False)
    Plan.objects.filter(pk=way.answers_id).update(is_current=True)
    Plan.objects.filter(pk=way.pk).update(is_offered=True)
    Task.objects.filter(pk=tasks[0].pk).update(done_at=done + 3 * DAY)
    with pytest.raises(Refused, match="“after the glue” on .* would begin before the rest after “task .” is over"):
        accept(way)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ("new work", "The house has changed since: “new” on .* is not in the plan"),
        ("grown", "7 hours are planned, 12 are needed"),
        ("gone", "which Corin|Corin, who is not in the shop"),
        ("ill", "Corin is not at work on Thu 14 Jan"),
        ("begun", "lacks the skill of the one who began it"),
        ("another plan", "Another plan was put in force since these ways were worked out"),
        ("days passed", "should be done since .* in this plan, and nobody has begun it"),
    ],
)
def test_what_changed_since_keeps_an_offer_from_being_accepted(house, change, sentence):
    corin, tasks = house
    away(corin)
    way = wished().offered[0]
    at, working = LATER, {}
    if change == "new work":
        make_work(make_job(), 3, name="new")
    if change == "grown":
        Task.objects.filter(pk=tasks[2].pk).update(hours_likely=Decimal(12))
    if change == "gone":
        make_person("Dilys", skills=("action",))
        type(corin).objects.filter(pk=corin.pk).update(is_active=False)
    if change == "ill":
        away(corin, 3, 3)
    if change == "begun":
        working = {tasks[0].pk: make_person("Dilys", skills=("action",)).pk}
    if change == "another plan":
        Plan.objects.update(is_current=False)
        Plan.objects.create(made_at=LATER, is_current=True)
    if change == "days passed":
        at = MOMENT + 8 * DAY
    present = current_plan()
    with pytest.raises(Refused, match=sentence) as refused:
        plan_accept(plan=way, by=make_manager(), at=at, working=working)
    assert "Work the plan out again: the new ways will know it." in str(refused.value)
    assert (current_plan(), plans_offered()) == (present, [way]), "the offer stays until it is answered"


def test_the_manager_keeps_the_plan_in_force_and_what_was_offered_is_thrown_away(house):
    old, boss = current_plan(), make_manager()
    away(house[0])
    way = wished().offered[0]
    offers_dismiss(plan=way, by=boss, at=LATER)
    assert (current_plan(), plans_offered(), Plan.objects.count()) == (old, [], 1)
    assert PlanWish.objects.get().answered_by == boss
    with pytest.raises(Refused, match="waits for an answer no more"):
        offers_dismiss(plan=way, by=boss, at=LATER)


def test_a_search_tells_how_it_goes_and_stops_when_it_is_asked_to(house):
    away(house[0])
    wish = PlanWish.objects.create(asked_at=LATER, begun_at=LATER, why="a search")
    told, boss = Telling(wish), make_manager()
    told(Progress(1, 0, 12.0, 2, 0.04))
    wish.refresh_from_db()
    assert (wish.first_plan_seconds, wish.best_days_late, wish.late_instruments) == (0.04, 12.0, 2)
    assert wish_stop(wish=wish.pk, by=boss, at=LATER)
    assert wish_stop(wish=wish.pk, by=make_manager(), at=LATER + DAY), "the second to press is told the same"
    assert told(Progress(2, 0, 12.0, 2, 0.05)), "it is asked about once a second"
    told._told -= 1
    assert not told(Progress(3, 0, 20.0, 5, 1.2))
    wish.refresh_from_db()
    assert (wish.searched_seconds, wish.best_days_late, wish.late_instruments) == (1.2, 12.0, 2)
    assert (wish.stop_asked_at, wish.stop_asked_by) == (LATER, boss)
    PlanWish.objects.update(done_at=LATER)
    assert not wish_stop(wish=wish.pk, by=boss, at=LATER)


def test_a_row_that_cannot_be_written_loses_no_search_and_other_threads_write_nothing(house, monkeypatch):
    wish = PlanWish.objects.create(asked_at=LATER, begun_at=LATER, why="a search")
    told = Telling(wish)
    beside = threading.Thread(target=told, args=(Progress(1, 0, 5.0, 1, 0.5),))
    beside.start()
    beside.join()
    wish.refresh_from_db()
    assert wish.first_plan_seconds is None, "another thread has a connection of its own, which nobody closes"

    def locked(*_, **__):
        raise OperationalError("database is locked")

    monkeypatch.setattr(PlanWish.objects, "filter", locked)
    assert told(Progress(2, 0, 5.0, 1, 0.6))


def test_a_stop_before_the_first_plan_still_leaves_the_plan_of_a_simple_rule(house):
    old = current_plan()
    away(house[0])
    wish = PlanWish.objects.create(asked_at=LATER, begun_at=LATER, stop_asked_at=LATER, why="stopped at once")
    outcome = plan_renew(wish=wish, at=LATER, seconds=30, progress=Telling(wish))
    assert outcome.offered[0].seconds < 10
    assert outcome.offered[0].status == "best found"
    wish.refresh_from_db()
    assert wish.first_plan_seconds < 10
    assert current_plan() == old
    Plan.objects.all().delete()
    assert plan_renew(wish=wish, at=LATER, seconds=30, progress=Telling(wish)).in_force == current_plan()


def test_a_stop_ends_the_proof_of_a_small_shop_too():
    make_shop()
    make_person("Corin", skills=("action",))
    for day in (12, 13):
        Promise.objects.create(job=make_work(make_job(weight=2), 8).job, date=dt.date(2027, 1, day), given_at=MOMENT)
    asked = []

    def told(progress):
        asked.append(progress.seconds)
        return progress.seconds < 0.2

    outcome = wished(seconds=20, progress=told)
    assert outcome.in_force.stints.exists()
    assert max(asked) < 10


def test_a_wish_whose_worker_died_is_as_good_as_new(house):
    wish = PlanWish.objects.create(
        asked_at=MOMENT, begun_at=MOMENT, why="x", searched_seconds=3, best_days_late=2, stop_asked_at=MOMENT
    )
    assert wishes_waiting(at=MOMENT + DAY, older_than=dt.timedelta()) == [wish]
    wish.refresh_from_db()
    assert (wish.searched_seconds, wish.best_days_late, wish.stop_asked_at) == (0, None, None)
    assert wish_take(wish=wish, at=MOMENT + DAY)

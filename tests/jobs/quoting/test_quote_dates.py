"""The dates of a quote: what the page says of each way and of the other jobs, and who may see it."""

import datetime as dt
import re
from decimal import Decimal

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from jobs.quoting import services
from jobs.scheduling.models import Plan, Promise, Stint
from tests.factories import MOMENT, make_instrument, make_job, make_operation, make_place, make_task, make_technician

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def monday_morning():
    with time_machine.travel(MOMENT, tick=False):
        yield


@pytest.fixture
def desk(boss):
    boss.on_the_bench = False
    boss.save()
    client = Client()
    client.force_login(boss, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.fixture
def house(work):
    """A shop with one technician, whose fourth to eighth week go to an instrument promised for their end."""
    make_place("floor", 4)
    make_place("bench", 3)
    corin = make_technician("Corin")
    job = make_job(make_instrument(), state="accepted", booked_in_on=None)
    task = make_task(job, make_operation("st-string"), hours_likely=Decimal(200), wait_hours=0)
    plan = Plan.objects.create(made_at=MOMENT, is_current=True)
    for day in (day for day in range(21, 56) if day % 7 < 5):
        begins = MOMENT.replace(hour=8) + dt.timedelta(days=day)
        Stint.objects.create(
            plan=plan, task=task, person=corin, starts_at=begins, ends_at=begins + dt.timedelta(hours=8)
        )
    Promise.objects.create(job=job, date=dt.date(2027, 3, 5), given_at=MOMENT)
    return job


def text(answer):
    return re.sub(r"\s+([,.])", r"\1", re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode())))


def address(quote, **asked):
    query = "&".join(f"{name}={value}" for name, value in asked.items())
    return reverse("quote-dates", args=[quote.number]) + (f"?{query}" if query else "")


def test_it_says_first_when_it_would_be_finished_without_moving_anybody(desk, scope, house):
    answer = desk.get(address(scope.quote))
    heading = re.search(r"<h1>(.*?)</h1>", answer.content.decode(), re.S).group(1)
    assert "If the answer comes today, it would be finished on Wed 20 Jan, and nobody else moves." in heading
    words = text(answer)
    assert "a week after the answer at the earliest, Mon 18 Jan" in words
    assert "Nobody else moves" in words
    assert "two weeks later, " not in words, "one press away"
    assert "If the answer comes two weeks later" in words


def test_one_press_shows_two_weeks_later_beside_it_with_what_it_does_to_the_others(desk, scope, house):
    words = text(desk.get(address(scope.quote, later=1)))
    assert "If it comes two weeks later, Mon 25 Jan" in words
    number = house.instrument.number
    assert f"{number} Larkwhistle grand five days later, Wed 10 Mar after its promise of Fri 5 Mar" in words
    assert re.search(r"Two weeks of waiting cost \d+ days while nobody else moves\.", words)
    assert "no day sooner" in words, "today it need not go first"
    assert "Only that one day" in words


@pytest.mark.parametrize(
    ("asked", "told"),
    [("2027-01-25", "If the answer comes on Mon 25 Jan"), ("2026-01-01", "If the answer comes today"),
     ("soon", "If the answer comes today"), ("2027-02-30", "If the answer comes today"),
     ("9999-12-31", "If the answer comes on Tue 11 Jan")],
)  # fmt: skip
def test_another_day_can_be_tried_and_no_day_asked_for_breaks_it(desk, scope, house, asked, told):
    answer = desk.get(address(scope.quote, answer=asked))
    assert answer.status_code == 200
    assert told in text(answer)


def test_work_nobody_can_do_has_no_date_and_the_page_says_so(desk, scope):
    assert "No date can be given: the work cannot be planned as things stand." in text(desk.get(address(scope.quote)))


def test_an_answered_quote_is_led_back_to_its_page(desk, sent, house):
    services.quote_answer(
        quote=sent, scope=None, name="Zoë", words="", at=MOMENT, via="letter", content_hash=sent.content_hash
    )
    answer = desk.get(address(sent), follow=True)
    assert answer.redirect_chain[0][0] == reverse("quote-show", args=[sent.number])
    assert "waits for no answer any more" in text(answer)


def test_the_page_of_the_quote_leads_to_it_while_it_can_be_answered(desk, scope):
    assert address(scope.quote) in desk.get(reverse("quote-show", args=[scope.quote.number])).content.decode()


def test_a_technician_is_told_and_a_stranger_is_led_to_the_door(draft, desk):
    bench = Client()
    bench.force_login(make_technician(), backend="django.contrib.auth.backends.ModelBackend")
    assert bench.get(address(draft)).status_code == 403
    assert Client().get(address(draft)).status_code == 302
    assert desk.get(reverse("quote-dates", args=[4711])).status_code == 404


def test_other_instruments_cost_no_further_questions(desk, scope, house):
    def asked():
        with CaptureQueriesContext(connection) as found:
            assert desk.get(address(scope.quote, later=1)).status_code == 200
        return len(found)

    asked()
    few = asked()
    for _ in range(6):
        make_task(make_job(make_instrument()), make_operation("st-string"))
    assert asked() == few


def test_in_a_very_full_house_only_what_moves_nobody_is_tried_and_the_page_says_so(desk, scope, house, monkeypatch):
    monkeypatch.setattr("jobs.scheduling.tryout.MOST_TASKS", 0)
    words = text(desk.get(address(scope.quote, later=1)))
    assert "only the date that moves nobody is looked for here" in words
    assert "It goes first" not in words
    assert "Nobody else moves" in words

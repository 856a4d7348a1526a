"""The bench and the list of hours through the pages: one tap, bad values, whose hours, how often they ask."""

import csv
import datetime as dt
import io
import uuid

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from jobs.hours.models import TimeEntry
from jobs.hours.queries import running_of
from jobs.hours.services import (
    clock_start,
    entry_correct,
    entry_withdraw,
    house_time_keep,
    house_time_take_back,
    time_enter,
)
from jobs.worklist.models import Task
from tests.factories import make_assessment, make_instrument, make_job, make_operation, make_task, make_technician

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def midday(time_machine):
    """A clock that ran twenty minutes is one entry only when no midnight lies in them."""
    time_machine.move_to(dt.datetime(2027, 1, 11, 12, 0, tzinfo=dt.UTC))


@pytest.fixture
def task():
    return make_task(agreed="Red cloth 🎹, “as before”", operation=make_operation(cautions="Steam: ventilate"))


def text_of(answer):
    return answer.content.decode()


def kept(task, person, minutes=30, *, days_ago=0, **more):
    now = timezone.now()
    day = timezone.localdate() - dt.timedelta(days=days_ago)
    return time_enter(task=task, person=person, on=day, minutes=minutes, at=now, **more)


def test_one_tap_starts_another_keeps_the_first_and_one_tap_stops(as_technician, technician, task):
    other = make_task(task.job, make_operation("ky-ease"))
    assert as_technician.post(f"/bench/tasks/{task.pk}/start/").status_code == 302
    page = text_of(as_technician.get("/bench/"))
    assert "data-since=" in page
    assert "Red cloth 🎹, “as before”" in page
    assert "Steam: ventilate" in page
    assert "Local rules" in page
    TimeEntry.objects.update(started_at=timezone.now() - dt.timedelta(minutes=20))
    assert as_technician.post(f"/bench/tasks/{other.pk}/start/").status_code == 302
    assert TimeEntry.objects.get(task=task).minutes == 20
    TimeEntry.objects.filter(task=other).update(started_at=timezone.now() - dt.timedelta(minutes=5))
    assert as_technician.post("/bench/stop/", {"add": "15"}).status_code == 302
    assert TimeEntry.objects.get(task=other).minutes == 20
    assert running_of(technician) is None


@pytest.mark.parametrize("address", ["/bench/stop/", "/bench/tasks/{}/start/", "/bench/tasks/{}/close/"])
def test_a_look_changes_nothing(as_technician, task, address):
    assert as_technician.get(address.format(task.pk)).status_code == 405


def test_a_forgotten_clock_is_asked_for_on_the_bench(as_technician, technician, task):
    clock_start(task=task, person=technician, at=timezone.now() - dt.timedelta(hours=40))
    assert "This clock was forgotten" in text_of(as_technician.get("/bench/"))
    for bad in ({"worked": "1", "hours": "x"}, {"worked": "1", "hours": "47"}, {}):
        as_technician.post("/bench/stop/", bad)
        assert running_of(technician) is not None
    as_technician.post("/bench/stop/", {"worked": "1", "hours": "3", "minutes": "20"})
    assert sum(entry.minutes for entry in TimeEntry.objects.all()) == 200  # two pieces when it began before midnight


def test_a_clock_that_overfills_the_day_asks_how_long_it_was_and_keeps_what_was_typed(stranger, technician, task):
    with time_machine.travel(dt.datetime(2027, 1, 11, 15, 0, tzinfo=dt.UTC), tick=False) as clock:
        stranger.force_login(technician, backend="django.contrib.auth.backends.ModelBackend")
        kept(task, technician, minutes=23 * 60)
        clock_start(task=task, person=technician, at=timezone.now())
        assert "Stop, + 15 min" in text_of(stranger.get("/bench/"))
        clock.shift(dt.timedelta(hours=2))
        page = text_of(stranger.get("/bench/"))
        assert "With this clock the day has more hours than a day" in page
        assert "Stop, + 15 min" not in page
        refused = stranger.post("/bench/stop/", {"worked": "1", "hours": "1", "minutes": "43"})
        assert refused.status_code == 422
        assert "1 h at most" in text_of(refused)
        assert 'value="43"' in text_of(refused)
        assert running_of(technician) is not None
        assert stranger.post("/bench/stop/", {"worked": "1", "hours": "1"}).status_code == 302
        assert TimeEntry.objects.get(started_at__isnull=False).minutes == 60


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        ({"hours": "", "minutes": ""}, "Write how long it took"),
        ({"hours": "0", "minutes": "0"}, "Write how long it took"),
        ({"hours": "25"}, "24"),
        ({"hours": "-1"}, "0"),
        ({"hours": "two"}, "whole number"),
        ({"minutes": "60"}, "59"),
        ({"hours": "1", "on": "2999-01-01"}, "still to come"),
        ({"hours": "1", "on": "2020-01-01"}, "days ago"),
        ({"hours": "1", "on": "soon"}, "as a date"),
        ({"hours": "1", "note": "x" * 201}, "200"),
    ],
)
def test_hours_that_cannot_be_say_why_and_keep_what_was_typed(as_technician, task, data, sentence):
    sent = {"on": timezone.localdate().isoformat(), "hours": "0", "minutes": "0", "note": "“Zoë” 🎹", **data}
    answer = as_technician.post(f"/bench/tasks/{task.pk}/", sent)
    page = text_of(answer)
    assert answer.status_code == 422
    assert sentence in page
    assert sent["note"] in page
    assert not TimeEntry.objects.exists()


def test_the_same_form_sent_twice_is_one_entry(as_technician, task):
    sent = {"on": timezone.localdate().isoformat(), "hours": "1", "minutes": "15", "client_key": str(uuid.uuid4())}
    for _ in range(2):
        assert as_technician.post(f"/bench/tasks/{task.pk}/", sent).status_code == 302
    assert TimeEntry.objects.get().minutes == 75
    other = as_technician.post(f"/bench/tasks/{task.pk}/", {**sent, "hours": "2"})
    assert (other.status_code, "other content" in text_of(other)) == (422, True)


def test_own_hours_are_corrected_with_their_history_and_others_are_not_shown(as_technician, technician, task):
    mine, theirs = kept(task, technician), kept(task, make_technician("Edda"), note="Edda’s own")
    answer = as_technician.get(f"/bench/entries/{theirs.pk}/")
    assert answer.status_code == 302
    as_technician.post(f"/bench/entries/{theirs.pk}/", {"minutes": "5", "reason": "no"})
    assert not TimeEntry.objects.filter(replaces=theirs).exists()
    no_reason = as_technician.post(f"/bench/entries/{mine.pk}/", {"minutes": "50", "reason": ""})
    assert (no_reason.status_code, "why the time is corrected" in text_of(no_reason)) == (422, True)
    assert as_technician.post(f"/bench/entries/{mine.pk}/", {"minutes": "50", "reason": "forgot"}).status_code == 302
    newest = TimeEntry.objects.get(replaces=mine)
    page = text_of(as_technician.get(f"/bench/entries/{newest.pk}/"))
    assert "30 min on" in page
    assert "forgot" in page
    old = as_technician.post(f"/bench/entries/{mine.pk}/", {"minutes": "40", "reason": "again"})
    assert (old.status_code, "corrected before" in text_of(old)) == (422, True)
    at_task = text_of(as_technician.get(f"/bench/tasks/{task.pk}/"))
    assert f"/bench/entries/{newest.pk}/" in at_task
    assert f"/bench/entries/{theirs.pk}/" not in at_task
    assert as_technician.get("/hours/").status_code == 403


def test_an_earlier_day_can_be_looked_at_and_a_day_to_come_is_today(as_technician, technician, task):
    kept(task, technician, 45, days_ago=1)
    yesterday = timezone.localdate() - dt.timedelta(days=1)
    assert "45 min kept" in text_of(as_technician.get("/bench/", {"day": yesterday.isoformat()}))
    for day in ("2999-01-01", "never", ""):
        page = as_technician.get("/bench/", {"day": day})
        assert (page.status_code, "My day" in text_of(page)) == (200, True)


def test_a_task_is_closed_from_the_bench_with_hours_or_a_reason_and_what_was_typed_stays(as_technician, task):
    later = make_task(task.job, make_operation("ky-ease"))
    later.after.add(task)
    answer = as_technician.post(f"/bench/tasks/{later.pk}/close/", {"no_hours_because": "“was done” 🎹"})
    assert answer.status_code == 422
    assert f"“{task.name}” comes before it" in text_of(answer)
    assert "“was done” 🎹" in text_of(answer)
    answer = as_technician.post(f"/bench/tasks/{task.pk}/close/")
    assert (answer.status_code, "No hours are logged" in text_of(answer)) == (422, True)
    assert as_technician.post(f"/bench/tasks/{task.pk}/close/", {"no_hours_because": "was done"}).status_code == 302
    task.refresh_from_db()
    assert (task.state, "was done" in task.agreed) == (Task.State.DONE, True)


@pytest.mark.parametrize("hours", ["", "much", "-1", "1001", "NaN"])
def test_hours_left_that_cannot_be_are_refused(as_technician, task, hours):
    assert as_technician.post(f"/bench/tasks/{task.pk}/left/", {"hours": hours}).status_code == 422
    task.refresh_from_db()
    assert task.hours_left is None


def test_the_list_says_how_much_filters_sorts_and_shows_corrections(as_manager, manager, technician, task):
    edda = make_technician("Edda")
    kept(task, technician, 60)
    entry_correct(entry=kept(task, edda, 30), minutes=45, reason="forgot the voicing", by=manager, at=timezone.now())
    entry_withdraw(entry=kept(task, edda, 20), reason="another piano", by=edda, at=timezone.now())
    page = text_of(as_manager.get("/hours/"))
    assert "1 h 45 logged." in page
    assert "corrected, was 30 min" in page
    assert "another piano" not in page
    assert "45 min logged in what is shown" in text_of(as_manager.get("/hours/", {"person": edda.pk}))
    assert "another piano" in text_of(as_manager.get("/hours/", {"kind": "withdrawn"}))
    assert "0 min logged" in text_of(as_manager.get("/hours/", {"since": "2999-01-01"}))
    assert as_manager.get("/hours/", {"person": "x", "since": "never", "kind": "?"}).status_code == 200
    answer = as_manager.get("/hours/", {"as": "csv", "kind": "all", "sort": "minutes"})
    rows = list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))
    assert sorted((row["Person"], row["Time"]) for row in rows) == [("Corin", "60"), ("Edda", "0"), ("Edda", "45")]


def test_the_list_holds_the_hours_of_the_house_marked_and_by_themselves(as_manager, manager, technician, task):
    today = timezone.localdate()
    yesterday = today - dt.timedelta(days=1)
    kept(task, technician, 60)
    looked = make_assessment(make_instrument(maker="Thrushby"), on=yesterday)
    home = make_job(make_instrument(maker="Quarrel"), state="returned", returned_on=yesterday)
    said = {"person": technician, "by": manager, "at": timezone.now()}
    house_time_keep(about=looked, on=yesterday, minutes=90, **said)
    visit = house_time_keep(about=home, on=today, minutes=30, note="a sticking key", **said)
    wrong = house_time_keep(about=home, on=today, minutes=10, **said)
    house_time_take_back(row=wrong, reason="typed twice", by=manager, at=timezone.now())

    def rows(**query):
        answer = as_manager.get("/hours/", {"as": "csv", **query})
        found = csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig")))
        return [(row["Task"].split(": ")[-1], row["Time"]) for row in found]

    on_task, assessed, visited = (task.name, "60"), ("assessment", "90"), ("visit under guarantee", "30")
    assert sorted(rows()) == sorted([on_task, assessed, visited])
    assert rows()[-1] == assessed, "the oldest"
    assert rows(sort="minutes") == [visited, on_task, assessed]
    assert rows(work="task") == [on_task]
    assert sorted(rows(work="house")) == [assessed, visited]
    assert rows(work="assessment") == rows(q="thrushby") == rows(q="assess") == rows(until=yesterday) == [assessed]
    assert rows(work="visit") == rows(q="quarrel") == rows(q=home.instrument.number) == [visited]
    assert rows(kind="withdrawn") == [("visit under guarantee", "0")]
    assert rows(kind="corrected") == rows(work="visit", q="thrushby") == []
    assert len(rows(kind="all")) == 4
    assert rows(person=manager.pk) == []
    page = text_of(as_manager.get("/hours/"))
    assert "3 h logged." in page
    assert "of the house: visit under guarantee" in page
    for address in (f"/assessments/{looked.pk}/hours/", f"/jobs/{visit.job_id}/visits/"):
        assert f'href="{address}"' in page
    assert "1 h 30 logged in what is shown" in text_of(as_manager.get("/hours/", {"work": "assessment"}))
    for order in ("person", "-instrument", "task", "-minutes", "on"):
        assert len(rows(sort=order)) == 3


def asked(client, address):
    with CaptureQueriesContext(connection) as queries:
        assert client.get(address).status_code == 200
    return len(queries)


def test_the_bench_and_the_list_ask_as_often_at_200_as_at_20(
    as_technician, technician, as_manager, django_assert_max_num_queries
):
    def more(count):
        for _ in range(count // 10):
            job = make_job()
            for number in range(10):
                task = make_task(job, make_operation(f"x-{number}"))
                kept(task, technician, 1)
                Task.objects.filter(pk=task.pk, pk__in=[task.pk] if number % 2 else []).update(state="to_come")

    more(20)
    pages = [
        (as_technician, "/bench/"),
        (as_manager, "/hours/"),
        (as_manager, f"/bench/tasks/{Task.objects.first().pk}/"),
    ]
    asked(*pages[-1])  # the learner of the process is built once
    few = [asked(*page) for page in pages]
    more(180)
    assert [asked(*page) for page in pages] == few
    with django_assert_max_num_queries(25):
        as_technician.get("/bench/")

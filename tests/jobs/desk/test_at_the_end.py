"""Where the jobs in hand will end: sorted by what they cost beyond the quote, warned early, the manager's alone."""

from decimal import Decimal

import pytest
from django.urls import reverse

from jobs.desk.queries.completion import jobs_at_end
from jobs.hours.services import time_enter
from tests.factories import (
    MOMENT,
    TODAY,
    make_job,
    make_manager,
    make_operation,
    make_quote,
    make_scope,
    make_task,
    make_technician,
)

pytestmark = pytest.mark.django_db


def running(quoted, logged_minutes, done=True):
    quote = make_quote()
    scope = make_scope(quote, hours_likely=Decimal(quoted), hours_80=Decimal(quoted) * 2)
    job = make_job(quote.instrument, quote=quote, scope=scope)
    operation = make_operation()
    first = make_task(job, operation, state="done" if done else "at_work")
    make_task(job, operation)
    time_enter_row(first, logged_minutes)
    return job


def time_enter_row(task, minutes):
    task.state, was = "at_work", task.state
    task.save()
    time_enter(task=task, person=make_technician(), on=TODAY, minutes=minutes, note="", at=MOMENT)
    task.state = was
    task.hours_left = None
    task.save()


def test_the_dearest_stands_first_and_is_warned_of():
    fine, dear = running(40, 600), running(22, 1200)
    first, second = jobs_at_end()
    assert (first.job, second.job) == (dear, fine)
    assert first.whole.warned
    assert not second.whole.warned
    assert first.whole.end.used == pytest.approx(20)
    assert first.whole.eaten == pytest.approx(9)
    assert first.whole.beyond == pytest.approx(Decimal(str(round(first.whole.end.likely - 22, 2))) * 48)


def test_variations_that_were_agreed_are_in_the_quoted_hours():
    job = running(22, 1200)
    job.variations.create(
        number=1, state="agreed", found="x", found_at=MOMENT, found_by=make_manager(), hours_likely=Decimal(9),
        answered_at=MOMENT, answered_name="Mrs Ferrowby",
    )  # fmt: skip
    assert jobs_at_end()[0].whole.quoted == 31


def test_the_page_says_what_is_likely_to_pass(client):
    running(22, 1200)
    client.force_login(make_manager())
    text = client.get(reverse("money-at-the-end")).content.decode()
    assert "One job is likelier than not to pass the quoted hours." in text
    assert "likely to pass" in text
    client.force_login(make_technician())
    assert client.get(reverse("money-at-the-end")).status_code == 403


def test_today_warns_early_and_only_then(client):
    client.force_login(make_manager())
    running(40, 600)
    assert "quoted hours" not in client.get(reverse("desk-today")).content.decode()
    dear = running(22, 1200)
    text = client.get(reverse("desk-today")).content.decode()
    assert f"No. {dear.instrument.number} is likelier than not to pass the quoted hours." in text


def test_a_house_without_jobs_says_so(client):
    client.force_login(make_manager())
    assert "No job is in hand." in client.get(reverse("money-at-the-end")).content.decode()

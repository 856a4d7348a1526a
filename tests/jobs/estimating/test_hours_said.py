"""Wherever hours appear: the sentence, for whom it was computed, and a small picture; one question for all lines."""

import datetime as dt
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from jobs.estimating.models import HoursLog
from jobs.estimating.picture import SMALL_MOST, SMALL_WIDE, small_picture
from jobs.estimating.said import Asked, hours_said
from jobs.estimating.services import estimator
from jobs.quoting.queries import quote_shown, work_said
from jobs.worklist.queries import task_said
from tests.factories import (
    MOMENT,
    TODAY,
    make_instrument,
    make_job,
    make_manager,
    make_operation,
    make_quote,
    make_scope,
    make_task,
    make_technician,
)

HOURS = st.floats(0.05, 500)


@given(st.lists(HOURS, max_size=50), HOURS, st.floats(0.3, 3), st.floats(1, 4))
def test_the_small_picture_keeps_inside_its_frame_and_in_order(logs, norm, factor, room):
    likely = norm * factor
    drawn = small_picture(logs, norm=norm, likely=likely, figure_80=likely * room)
    assert len(drawn.dots) == min(len(logs), SMALL_MOST)
    places = [drawn.norm, drawn.band[0], *(x for x, _ in drawn.dots)]
    assert all(0 <= x <= SMALL_WIDE for x in places)
    assert all(0 < y < drawn.floor for _, y in drawn.dots)
    shown = [min(hours, 2 * likely * room) for hours in logs[-SMALL_MOST:]]
    assert [x for _, x in sorted(zip(shown, (x for x, _ in drawn.dots), strict=True))] == sorted(
        x for x, _ in drawn.dots
    )


def log(operation, hours, *, who=None, days_ago=1, **more):
    row = {"norm_hours": 12, "norm_of_unit": 12, "said_likely": 12, "said_80": 16, **more}
    day = TODAY - dt.timedelta(days=days_ago)
    return HoursLog.objects.create(
        operation=operation, technician=who, hours=Decimal(str(hours)), finished_on=day, changed_at=MOMENT, **row
    )


@pytest.fixture
def bush(db):
    return make_operation(hours_low=Decimal(8), hours_likely=Decimal(12), hours_high=Decimal(18), upright_factor=1)


def test_the_sentence_says_for_whom_and_the_picture_shows_those_logs(bush):
    corin, dilys = make_technician("Corin"), make_technician("Dilys")
    for place, hours in enumerate((11, 12.5, 14)):
        log(bush, hours, who=corin, days_ago=place + 1)
    log(bush, 20, who=dilys)
    log(bush, 40, who=corin, first_time=True)
    task = make_task(make_job(), bush)
    own, other = task_said(task, corin), task_said(task, make_manager(on_the_bench=False))
    assert "Corin logged 3 of these, 11 to 14 h." in own.sentence
    assert (own.whom, len(own.picture.dots)) == ("Computed for Corin.", 3)
    assert "Logged 4 of these, 11 to 20 h." in other.sentence
    assert (other.whom, len(other.picture.dots)) == ("Computed for the whole shop.", 4)


def test_logs_are_shown_in_hours_of_this_task(bush):
    """Four units on an upright at 0.5 take twice the hours of one unit on a grand; a norm changed since drops out."""
    bush.upright_factor = Decimal("0.5")
    bush.save()
    log(bush, 30, norm_hours=20, norm_of_unit=10)
    given_now = estimator(TODAY)
    hours = given_now.hours_for(operation=bush, quantity=4, kind="upright")
    [said] = hours_said([Asked(bush, Decimal(4), "upright", hours)], given_now)
    assert "Norm 24 h. Logged 1 of these, 30 h." in said.sentence
    assert hours.least == pytest.approx(30)  # as the learner has it, which reads the log against the norm of today


def quoted(lines=2, **quote):
    made = make_quote(make_instrument(), **quote)
    scope = make_scope(made, hours_likely=13, hours_80=16, total_likely=700, total_80=900)
    for place in range(lines):
        work = make_operation(f"w-{place}", hours_low=Decimal(8), hours_likely=Decimal(12), hours_high=Decimal(18))
        scope.operations.create(operation=work, because="chosen", norm_hours=12, hours_likely=13, hours_80=16)
        for days_ago in (40, 3):
            log(work, 14 + days_ago / 10, days_ago=days_ago)
    return made


def test_a_quote_that_was_sent_keeps_the_figures_and_the_evidence_of_its_day(db):
    sent_at = MOMENT - dt.timedelta(days=30)
    quote = quoted(state="sent", sent_at=sent_at, content_hash="x", valid_until=TODAY)
    [(ways, said)] = work_said(quote_shown(quote.number))["w-0"]
    assert ways == "way 1"
    assert said.sentence == "Norm 12 h. Logged 1 of these, 18 h. Expect 13 h; 8 in 10 stay under 16 h."
    [(_, now)] = work_said(quote_shown(quoted().number))["w-0"]
    assert "Logged 4 of these, 14.3 to 18 h." in now.sentence


def test_ways_with_other_counts_are_told_apart(db):
    quote = quoted(1)
    second = make_scope(quote, 2)
    work = quote.scopes.first().operations.get().operation
    second.operations.create(operation=work, because="chosen", quantity=2, norm_hours=24, hours_likely=26, hours_80=32)
    third = make_scope(quote, 3)
    third.operations.create(operation=work, because="refused", norm_hours=24, hours_likely=26, hours_80=32)
    said = work_said(quote_shown(quote.number))["w-0"]
    assert [ways for ways, _ in said] == ["way 1", "way 2"]
    assert "Logged 2 of these, 28.6 to 36 h." in said[1][1].sentence  # twice 14.3 and 18


def test_the_lines_of_a_quote_cost_no_question_more(db):
    few, many = quote_shown(quoted(1).number), quote_shown(quoted(9).number)
    list(few.scopes.all()), list(many.scopes.all())
    estimator()  # the learner of the process takes in what is new
    asked = []
    for quote in (few, many):
        with CaptureQueriesContext(connection) as seen:
            work_said(quote)
        asked.append(len(seen))
    assert asked == [3, 3]


def test_the_pages_show_them(client, bush):
    boss = make_manager()
    client.force_login(boss)
    quote = quoted()
    log(bush, 13)
    task = make_task(make_job(), bush)
    for address, times in [
        (reverse("quote-show", args=[quote.number]), 2),
        (reverse("scope-change", args=[quote.scopes.get().pk]), 2),
        (reverse("task-show", args=[task.pk]), 1),
        (reverse("bench-enter", args=[task.pk]), 1),
        (reverse("norm-show", args=[bush.code]), 1),
        (reverse("norms-learned"), 3),
    ]:
        text = client.get(address).content.decode()
        assert text.count('<svg class="logs"') == times, address
        if address != reverse("norms-learned"):
            assert text.count("Computed for the whole shop.") == times
            assert "stay under" in text

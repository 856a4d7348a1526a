"""The record of an instrument: what it says of quote and job, and what can be done next."""

import pytest
from django.urls import reverse

from jobs.assessment.services import photograph_keep
from jobs.desk.queries.record import record_of
from jobs.quoting.models import Answer, Quote
from jobs.worklist.models import Job
from tests.factories import (
    MOMENT,
    make_assessment,
    make_instrument,
    make_job,
    make_manager,
    make_picture,
    make_quote,
    make_scope,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def boss(db):
    return make_manager()


@pytest.fixture
def piano(boss):
    piano = make_instrument()
    make_assessment(piano, by=boss, finished_at=MOMENT)
    return piano


def quoted(piano, boss, state):
    out = {} if state == "draft" else {"sent_at": MOMENT, "content_hash": "x"}
    return make_quote(piano, by=boss, state=state, **out)


def accepted(piano, boss):
    quote = quoted(piano, boss, Quote.State.ACCEPTED)
    scope = make_scope(quote)
    Answer.objects.create(quote=quote, kind="accepted", scope=scope, name="Mrs Ferrowby", at=MOMENT, content_hash="x")
    return make_job(piano, quote=quote, scope=scope)


def step(piano):
    return next((one.words, one.state) for one in record_of(piano, money=True).steps if one.words != "Assessed")


def page(client, piano):
    return client.get(reverse("desk-instrument", args=[piano.number])).content.decode()


def test_a_newer_draft_does_not_hide_the_quote_that_was_accepted(piano, boss):
    accepted(piano, boss)
    make_quote(piano, by=boss)
    assert step(piano) == ("Accepted", "done")


def test_without_a_job_the_newest_quote_speaks(piano, boss):
    assert step(piano) == ("Accepted", "to_come")
    quoted(piano, boss, "lapsed")
    make_quote(piano, by=boss)
    assert step(piano) == ("Quoted", "at_work")


@pytest.mark.parametrize(
    ("quotes", "job", "offered"),
    [
        ([], None, "Begin a quote"),
        (["draft"], None, ""),
        (["sent"], None, ""),
        (["lapsed"], None, "A new quote"),
        (["declined", "lapsed"], None, "A new quote"),
        (["accepted"], "accepted", ""),
        (["accepted"], "in_house", ""),
        (["accepted"], "ready", ""),
        (["accepted"], "returned", "A new quote"),
        (["accepted", "draft"], "returned", ""),
    ],
)
def test_a_quote_is_offered_when_none_is_open_and_nothing_is_under_way(as_manager, piano, boss, quotes, job, offered):
    made = None
    if job:
        made = accepted(piano, boss)
        Job.objects.filter(pk=made.pk).update(state=job)
        quotes = quotes[1:]
    for state in quotes:
        quoted(piano, boss, state)
    html = page(as_manager, piano)
    assert [words for words in ("Begin a quote", "A new quote") if words in html] == ([offered] if offered else [])


def test_a_technician_is_offered_no_quote(as_technician, piano):
    assert "Begin a quote" not in page(as_technician, piano)


def test_photographs_stand_on_the_record_with_their_words(as_manager, piano, boss):
    html = page(as_manager, piano)
    assert 'id="p-photos"' not in html
    photograph_keep(instrument=piano, upload=make_picture(), caption="Crack by the treble bridge", by=boss, at=MOMENT)
    html = page(as_manager, piano)
    assert reverse("photograph-show", args=[piano.photographs.get().pk]) in html
    assert 'alt="Crack by the treble bridge"' in html

import datetime as dt

import pytest

from jobs.quoting import services
from jobs.quoting.models import Answer
from tests.factories import MOMENT
from workshop.web.errors import Refused

NAME = "Mrs Ferrowby"


def accept(quote, scope="first", **more):
    given = {
        "scope": quote.scopes.first() if scope == "first" else scope,
        "name": NAME,
        "at": MOMENT + dt.timedelta(days=3),
        "content_hash": quote.content_hash,
    }
    return services.quote_answer(quote=quote, **{**given, **more})


def test_it_keeps_who_what_when_and_which_text(sent):
    answer = accept(sent, words="Please begin in spring.")
    sent.refresh_from_db()
    assert sent.state == "accepted"
    assert (answer.kind, answer.scope, answer.name) == ("accepted", sent.scopes.get(), NAME)
    assert answer.content_hash == sent.content_hash
    assert answer.words == "Please begin in spring."


def test_no_scope_declines(sent):
    assert accept(sent, scope=None).kind == "declined"
    sent.refresh_from_db()
    assert sent.state == "declined"


def test_a_second_answer_changes_nothing_and_says_who_answered_and_when(sent):
    accept(sent)
    with pytest.raises(Refused, match=r"Mrs Ferrowby accepted “Quiet keys” on Thu 14 Jan 2027 at 09:00\. .*once"):
        accept(sent, scope=None, name="Mr Ferrowby")
    assert Answer.objects.get().name == NAME


def test_the_same_answer_again_is_no_second_answer(sent):
    accept(sent)
    with pytest.raises(Refused, match="A quote is answered once"):
        accept(sent)
    assert Answer.objects.count() == 1


def test_a_draft_cannot_be_answered(draft, scope):
    with pytest.raises(Refused, match="has not been sent"):
        accept(draft)


def test_the_last_day_is_a_day_and_the_next_is_too_late(sent):
    last = dt.datetime(2027, 2, 8, 23, 30, tzinfo=dt.UTC)
    with pytest.raises(Refused, match=r"lapsed on Mon 8 Feb 2027\. Ask the workshop for a new one"):
        accept(sent, at=last + dt.timedelta(hours=1))
    assert accept(sent, at=last).pk


def test_a_lapsed_quote_cannot_be_answered(sent):
    assert services.quotes_lapse(today=dt.date(2027, 2, 8)) == 0
    assert services.quotes_lapse(today=dt.date(2027, 2, 9)) == 1
    with pytest.raises(Refused, match="lapsed"):
        accept(sent)
    assert services.quotes_lapse(today=dt.date(2027, 2, 9)) == 0


def test_an_accepted_quote_never_lapses(sent):
    accept(sent)
    assert services.quotes_lapse(today=dt.date(2030, 1, 1)) == 0


def test_a_way_of_another_quote_is_refused(sent, boss):
    other = services.quote_copy(quote=sent, by=boss, at=MOMENT)
    with pytest.raises(Refused, match="belongs to another quote"):
        accept(sent, scope=other.scopes.get())


@pytest.mark.parametrize("content_hash", ["", "0" * 64])
def test_another_text_than_the_one_sent_is_refused(sent, content_hash):
    with pytest.raises(Refused, match="is not quote .* as it was sent"):
        accept(sent, content_hash=content_hash)


@pytest.mark.parametrize(("name", "sentence"), [("  ", "type your name"), ("x" * 121, "120")])
def test_a_name_that_cannot_be_is_refused(sent, name, sentence):
    with pytest.raises(Refused, match=sentence):
        accept(sent, name=name)
    sent.refresh_from_db()
    assert sent.state == "sent"


def test_a_name_with_quotes_and_emoji_is_kept(sent):
    assert accept(sent, name="Siân “Bo” O’Ferrowby 🎹").name == "Siân “Bo” O’Ferrowby 🎹"

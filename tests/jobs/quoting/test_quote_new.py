"""Beginning a quote on its page, and the one open quote an instrument has."""

import datetime as dt

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from jobs.assessment.models import Finding
from jobs.quoting import queries, services
from jobs.quoting.models import Answer, Quote
from tests.factories import MOMENT, TODAY, make_assessment, make_instrument, make_technician
from workshop.web.errors import Refused


@pytest.fixture
def desk(boss):
    client = Client()
    client.force_login(boss, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.fixture
def piano(work):
    """An instrument with a first assessment that kept a finding, and a newer final one without any."""
    instrument = make_instrument()
    first = make_assessment(instrument)
    finding = Finding.objects.create(
        assessment=first, severity="wear", certainty="seen", state=Finding.State.KEPT, sentence="The keys rattle."
    )
    finding.operations.add(work["ky-bush"])
    make_assessment(instrument, purpose="final", on=TODAY + dt.timedelta(days=1))
    return instrument


def sentence(response):
    return response.content.decode()


def send(quote, boss, **more):
    return services.quote_send(quote=quote, by=boss, at=MOMENT, **more)


def test_one_press_begins_from_the_newest_assessment_that_found_something(desk, piano):
    desk.post(reverse("quote-new", args=[piano.number]))
    quote = Quote.objects.get()
    assert quote.assessment == piano.assessments.get(purpose="first")
    assert [row.operation.code for row in quote.scopes.get().operations.all()] == ["ky-bush"]


def test_the_page_offers_every_assessment_with_what_it_found(desk, piano):
    text = sentence(desk.get(reverse("quote-new", args=[piano.number])))
    assert ": 1 finding, not finished" in text
    assert ": no findings, not finished" in text
    assert "none: I choose the work" in text
    first = piano.assessments.get(purpose="first")
    assert f'<option value="{first.pk}" selected>' in text


def test_a_quote_may_begin_without_an_assessment_and_with_ones_own_words(desk, piano):
    words = {"assessment": "", "letter": "Dear “you” 🎹,\nhello."}
    response = desk.post(reverse("quote-new", args=[piano.number]), words)
    quote = Quote.objects.get()
    assert response.url == reverse("quote-show", args=[quote.number])
    assert (quote.assessment, quote.letter) == (None, words["letter"])
    assert not quote.scopes.get().operations.exists()


def test_an_assessment_of_another_instrument_comes_back_with_the_words_typed(desk, piano):
    other = make_assessment()
    response = desk.post(reverse("quote-new", args=[piano.number]), {"assessment": other.pk, "letter": "My own words"})
    assert response.status_code == 422
    assert "My own words" in sentence(response)
    assert not Quote.objects.exists()


def test_only_the_manager_begins_a_quote(piano):
    address = reverse("quote-new", args=[piano.number])
    bench = Client()
    bench.force_login(make_technician(), backend="django.contrib.auth.backends.ModelBackend")
    for client, status in ((bench, 403), (Client(), 302)):
        assert client.get(address).status_code == status
        assert client.post(address).status_code == status
    assert not Quote.objects.exists()


def test_an_instrument_that_is_not_there_is_not_found(desk, db):
    assert desk.get(reverse("quote-new", args=[4711])).status_code == 404


def test_a_newer_quote_closes_the_one_that_waits_and_only_one_is_accepted(sent, boss):
    newer = send(services.quote_copy(quote=sent, by=boss, at=MOMENT), boss)
    sent.refresh_from_db()
    assert (sent.state, newer.state) == (Quote.State.LAPSED, Quote.State.SENT)
    assert queries.quote_after(sent) == newer
    assert queries.quote_check(sent)
    given = {"name": "Mrs Ferrowby", "at": MOMENT}
    with pytest.raises(Refused, match=f"Quote {newer.number} took the place of quote {sent.number}"):
        services.quote_answer(quote=sent, scope=sent.scopes.get(), content_hash=sent.content_hash, **given)
    services.quote_answer(quote=newer, scope=newer.scopes.get(), content_hash=newer.content_hash, **given)
    assert Answer.objects.get().quote == newer


def test_a_refused_sending_leaves_the_older_quote_open(sent, boss):
    empty = services.quote_start(instrument=sent.instrument, assessment=None, by=boss, at=MOMENT)
    with pytest.raises(Refused, match="holds no work"):
        send(empty, boss)
    sent.refresh_from_db()
    assert sent.state == Quote.State.SENT


def test_quotes_of_other_instruments_and_answered_ones_stay_as_they_are(sent, boss):
    services.quote_answer(
        quote=sent, scope=sent.scopes.get(), name="Mrs Ferrowby", at=MOMENT, content_hash=sent.content_hash
    )
    other = services.quote_start(instrument=make_instrument(), assessment=None, by=boss, at=MOMENT)
    services.scope_write(scope=other.scopes.get(), chosen={"ky-bush": None}, refused={}, title="Keys")
    send(other, boss)
    send(services.quote_copy(quote=sent, by=boss, at=MOMENT), boss)
    states = dict(Quote.objects.values_list("number", "state"))
    assert states == {sent.number: "accepted", other.number: "sent", sent.number + 2: "sent"}


def test_a_quote_that_lapsed_by_its_day_was_not_replaced(sent, boss):
    services.quotes_lapse(today=sent.valid_until + dt.timedelta(days=1))
    later = services.quote_copy(quote=sent, by=boss, at=MOMENT)
    services.quote_send(quote=later, by=boss, at=MOMENT + dt.timedelta(days=90))
    sent.refresh_from_db()
    assert queries.quote_after(sent) is None


def test_the_pages_say_what_closes_what(desk, sent, boss):
    newer = services.quote_copy(quote=sent, by=boss, at=timezone.now())
    page = sentence(desk.get(reverse("quote-show", args=[newer.number])))
    assert f"quote {sent.number}</a>, which still waits for an answer" in page
    send(newer, boss)
    page = sentence(desk.get(reverse("quote-show", args=[sent.number])))
    assert f"Quote {newer.number} took the place of this one" in page

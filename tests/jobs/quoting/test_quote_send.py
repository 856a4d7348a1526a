import datetime as dt
from dataclasses import asdict
from decimal import Decimal

import pytest
from django.db import IntegrityError, connection, transaction

from jobs.assessment.models import Finding
from jobs.quoting import queries, services
from jobs.quoting.calc import canonical
from jobs.quoting.models import Quote, QuotePaper, Scope, ScopeCharge, ScopeOperation
from jobs.quoting.queries.printing import NOT_PRINTED
from tests.factories import MOMENT, make_assessment, make_technician
from workshop.house.queries import the_shop
from workshop.web.errors import Refused

D = Decimal


def test_it_freezes_state_day_and_hash(sent, boss):
    sent.refresh_from_db()
    assert (sent.state, sent.sent_by, sent.sent_at) == ("sent", boss, MOMENT)
    assert sent.valid_until == dt.date(2027, 2, 8)
    assert len(sent.content_hash) == 64
    assert queries.quote_check(sent)


def test_it_keeps_the_day_it_would_be_home_and_the_chance(draft, scope, boss):
    ready = {scope.pk: (dt.date(2027, 5, 7), D("0.80"))}
    services.quote_send(quote=draft, by=boss, at=MOMENT, ready=ready)
    scope.refresh_from_db()
    assert (scope.ready_on, scope.ready_chance) == (dt.date(2027, 5, 7), D("0.80"))


def test_what_the_house_changes_afterwards_does_not_change_the_quote(draft, scope, boss, work):
    assessment = make_assessment(draft.instrument)
    finding = Finding.objects.create(
        assessment=assessment, severity="safety", sentence="The leg is loose.", state="kept"
    )
    draft.assessment = assessment
    draft.save()
    services.quote_send(quote=draft, by=boss, at=MOMENT)
    draft.refresh_from_db()
    before = queries.quote_print(draft)
    work["ky-bush"].client_words, work["ky-bush"].hours_likely = "Something else", D(15)
    work["ky-bush"].save()
    finding.sentence = "Everything is fine."
    finding.save()
    shop, client = the_shop(), draft.instrument.client
    shop.hourly_rate, client.name, client.address = D(99), "Somebody else", "Elsewhere"
    shop.save()
    client.save()
    draft.instrument.maker = "Quillory"
    draft.instrument.save()
    assert queries.quote_print(Quote.objects.get(pk=draft.pk)) == before
    assert queries.quote_check(draft)
    assert [found.sentence for found in before.words.findings] == ["The leg is loose."]


TAMPERED = {
    "a title": lambda quote: Scope.objects.filter(quote=quote).update(title="Cheaper"),
    "a total": lambda quote: Scope.objects.filter(quote=quote).update(total_80=D("1.00")),
    "hours": lambda quote: Scope.objects.filter(quote=quote).update(hours_likely=D("1.0")),
    "a day": lambda quote: Scope.objects.filter(quote=quote).update(ready_on=dt.date(2027, 3, 1)),
    "an amount": lambda quote: ScopeCharge.objects.filter(scope__quote=quote).update(gross=D("0.01")),
    "a word": lambda quote: ScopeOperation.objects.filter(scope__quote=quote).update(words="nothing"),
    "a row taken out": lambda quote: ScopeCharge.objects.filter(scope__quote=quote).first().delete(),
    "a row put in": lambda quote: ScopeCharge.objects.create(
        scope=quote.scopes.get(), kind="parts", words="more", net=D(1), gross=D("1.20"), vat_percent=D(20)
    ),
    "the letter": lambda quote: Quote.objects.filter(pk=quote.pk).update(letter="Dear all"),
    "the last day": lambda quote: Quote.objects.filter(pk=quote.pk).update(valid_until=dt.date(2030, 1, 1)),
    "the deposit": lambda quote: Quote.objects.filter(pk=quote.pk).update(deposit_percent=D(99)),
    "the rate": lambda quote: Quote.objects.filter(pk=quote.pk).update(vat_percent=D(0)),
    "the client": lambda quote: QuotePaper.objects.filter(quote=quote).update(
        words={**quote.paper.words, "client_name": "Somebody else"}
    ),
}


@pytest.mark.parametrize("what", TAMPERED)
def test_a_change_behind_our_back_is_noticed_and_not_answered(sent, what):
    scope, content_hash = sent.scopes.get(), sent.content_hash
    TAMPERED[what](sent)
    assert not queries.quote_check(sent)
    with pytest.raises(Refused, match="is not quote"):
        services.quote_answer(quote=sent, scope=scope, name="Mrs Ferrowby", at=MOMENT, content_hash=content_hash)


def test_a_state_that_moves_on_is_no_tampering(sent):
    Quote.objects.filter(pk=sent.pk).update(state=Quote.State.LAPSED)
    assert queries.quote_check(sent)


def test_it_is_sent_once(sent, boss):
    with pytest.raises(Refused, match="was sent on"):
        services.quote_send(quote=sent, by=boss, at=MOMENT)


def test_a_norm_changed_since_stops_it_until_the_figures_are_looked_at(draft, scope, boss, work):
    total = scope.total_likely
    work["ky-bush"].hours_likely = D(15)
    work["ky-bush"].save()
    with pytest.raises(Refused, match="Work the figures out anew"):
        services.quote_send(quote=draft, by=boss, at=MOMENT)
    draft.refresh_from_db()
    scope.refresh_from_db()
    assert (draft.state, scope.total_likely) == ("draft", total)
    services.quote_work_out(quote=draft)
    assert services.quote_send(quote=draft, by=boss, at=MOMENT).state == "sent"


def test_a_way_without_work_stops_it(draft, scope, boss):
    services.scope_add(quote=draft)
    with pytest.raises(Refused, match="Way 2, “Way 2”, holds no work yet"):
        services.quote_send(quote=draft, by=boss, at=MOMENT)
    assert not QuotePaper.objects.exists()


def test_two_ways_of_one_name_stop_it(draft, scope, boss):
    twin = services.scope_add(quote=draft, copy_of=scope)
    services.scope_write(scope=twin, chosen={"ac-shape": None}, refused={}, title=scope.title.upper())
    with pytest.raises(Refused, match="same name"):
        services.quote_send(quote=draft, by=boss, at=MOMENT)


def test_a_technician_sends_no_quote(draft, scope):
    with pytest.raises(Refused, match="by the manager"):
        services.quote_send(quote=draft, by=make_technician(), at=MOMENT)


@pytest.mark.parametrize("chance", [D(0), D(1), D("1.2")])
def test_a_chance_that_is_a_certainty_is_refused(draft, scope, boss, chance):
    with pytest.raises(Refused, match="between 0 and 1"):
        services.quote_send(quote=draft, by=boss, at=MOMENT, ready={scope.pk: (dt.date(2027, 5, 7), chance)})


def test_the_database_itself_refuses_a_sent_quote_without_a_hash(draft):
    with pytest.raises(IntegrityError), transaction.atomic():
        Quote.objects.filter(pk=draft.pk).update(state="sent")
    assert connection.is_usable()


def test_the_day_to_answer_by_is_frozen_with_the_date_and_kept_in_the_hash(scope, boss):
    by = MOMENT.date() + dt.timedelta(days=14)
    ready = {scope.pk: (dt.date(2027, 5, 7), D("0.80"))}
    sent = services.quote_send(quote=scope.quote, by=boss, at=MOMENT, ready=ready, answer_by={scope.pk: by})
    scope.refresh_from_db()
    assert scope.answer_by == by
    assert queries.quote_check(sent)
    sent.scopes.update(answer_by=by + dt.timedelta(days=1))
    assert not queries.quote_check(sent)


def test_a_quote_sent_before_such_days_were_told_still_says_what_it_said(scope, boss):
    """The hash of a quote without such a day is the one the house made before it knew of it."""
    sent = services.quote_send(quote=scope.quote, by=boss, at=MOMENT)
    content = asdict(queries.quote_print(sent))
    for name in NOT_PRINTED:
        content.pop(name)
    for row in content["scopes"]:
        assert row.pop("answer_by") is None
    assert canonical.content_hash(content) == sent.content_hash


def test_no_answer_is_asked_for_after_the_quote_itself_has_lapsed(scope, boss):
    ready = {scope.pk: (dt.date(2027, 5, 7), D("0.80"))}
    services.quote_send(quote=scope.quote, by=boss, at=MOMENT, ready=ready, answer_by={scope.pk: dt.date(2027, 3, 1)})
    scope.refresh_from_db()
    assert scope.answer_by == Quote.objects.get().valid_until == dt.date(2027, 2, 8)

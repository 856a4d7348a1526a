"""Questions about quotes."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from django.db.models import Count, Max, Min, QuerySet
from django.utils import timezone

from jobs.assessment.models import Finding
from jobs.intake.models import Instrument
from jobs.quoting.calc.canonical import content_hash
from jobs.quoting.calc.cautions import client_cautions
from jobs.quoting.calc.printed import (
    PrintedCharge,
    PrintedFinding,
    PrintedOperation,
    PrintedQuote,
    PrintedScope,
    PrintedWords,
)
from jobs.quoting.models import Quote, QuotePaper, Scope, ScopeCharge, ScopeOperation
from workshop.house.queries import the_shop
from workshop.people.models import Person

KINDS = {row.value: str(row.label) for row in ScopeCharge.Kind}


def quotes_for(instrument: Instrument) -> QuerySet[Quote]:
    """Return the quotes of an instrument, newest first, with their scopes."""
    return instrument.quotes.prefetch_related("scopes").select_related("answer__scope", "sent_by")


def quotes_listed() -> QuerySet[Quote]:
    """Return all quotes for the list, with the number of ways and the lowest and highest price and hours."""
    return Quote.objects.select_related("instrument__client", "answer").annotate(
        ways=Count("scopes"),
        price_from=Min("scopes__total_likely"),
        price_to=Max("scopes__total_80"),
        hours_most=Max("scopes__hours_likely"),
    )


def words_now(quote: Quote, *, by: Person | None = None) -> PrintedWords:
    """Return the words a quote would be sent with now: from the client, the instrument, the findings, the shop."""
    instrument, shop = quote.instrument, the_shop()
    findings: Iterable[Finding] = ()
    if quote.assessment is not None:
        findings = quote.assessment.findings.filter(state=Finding.State.KEPT)
    texts = [row.operation.cautions for row in _operations(quote)]
    return PrintedWords(
        client_name=instrument.client.name,
        dear=instrument.client.dear,
        client_address=instrument.client.address,
        instrument=instrument.words,
        instrument_number=instrument.number,
        shop={
            name: str(getattr(shop, name))
            for name in ("name", "street", "town", "postcode", "phone", "email", "vat_number")
        },
        findings=tuple(
            PrintedFinding(str(one.get_severity_display()), str(one.get_certainty_display()), one.sentence)
            for one in findings
        ),
        cautions=client_cautions([*texts, instrument.cautions]),
        signed=str(by or quote.created_by),
    )


def _operations(quote: Quote) -> QuerySet[ScopeOperation]:
    rows = ScopeOperation.objects.filter(scope__quote=quote).exclude(because=ScopeOperation.Because.REFUSED)
    return rows.select_related("operation")


def _words_kept(kept: dict[str, Any]) -> PrintedWords:
    findings = tuple(PrintedFinding(**one) for one in kept["findings"])
    return PrintedWords(**{**kept, "findings": findings, "cautions": tuple(kept["cautions"])})


def quote_print(quote: Quote) -> PrintedQuote:
    """Return a quote as it is read: a sent one from its frozen rows, a draft as it stands now."""
    paper = QuotePaper.objects.filter(quote=quote).first()
    scopes = quote.scopes.prefetch_related("operations__operation", "charges").order_by("position")
    return PrintedQuote(
        number=quote.number,
        state=quote.state,
        letter=quote.letter,
        vat_mode=quote.vat_mode,
        vat_percent=quote.vat_percent,
        hourly_rate=quote.hourly_rate,
        deposit_percent=quote.deposit_percent,
        currency=the_shop().currency,
        sent_on=timezone.localtime(quote.sent_at).date() if quote.sent_at else None,
        valid_until=quote.valid_until,
        content_hash=quote.content_hash,
        words=_words_kept(paper.words) if paper else words_now(quote),
        scopes=tuple(_scope(scope, quote) for scope in scopes),
    )


def _scope(scope: Scope, quote: Quote) -> PrintedScope:
    names = ("hours_likely", "hours_80", "net_likely", "vat_likely", "total_likely", "total_80")
    figures = {name: getattr(scope, name) or 0 for name in names}
    return PrintedScope(
        pk=scope.pk,
        position=scope.position,
        title=scope.title,
        notice=scope.notice,
        stays_open=scope.stays_open,
        ready_on=scope.ready_on,
        ready_chance=scope.ready_chance,
        operations=tuple(_operation(row) for row in scope.operations.all()),
        charges=tuple(_charge(row, quote.vat_mode) for row in scope.charges.all()),
        **figures,
    )


def _operation(row: ScopeOperation) -> PrintedOperation:
    return PrintedOperation(
        code=row.operation.code,
        stage=row.operation.stage,
        words=row.words or row.operation.in_plain_words,
        because=row.because,
        reason=row.reason,
        quantity=row.quantity,
        norm_hours=row.norm_hours,
        hours_likely=row.hours_likely,
        hours_80=row.hours_80,
    )


def _charge(row: ScopeCharge, mode: str) -> PrintedCharge:
    return PrintedCharge(
        kind=row.kind,
        kind_words=KINDS[row.kind],
        stage=row.stage,
        words=row.words,
        net=row.net,
        gross=row.gross,
        vat_percent=row.vat_percent,
        shown=row.gross if mode == "gross" else row.net,
    )


def quote_hash(quote: Quote) -> str:
    """Return the hash over everything a quote says (SHA-256, hex), worked out from its rows as they are now."""
    printed = asdict(quote_print(quote))
    for changes_later in ("state", "content_hash", "currency"):
        printed.pop(changes_later)
    for scope in printed["scopes"]:
        for operation in scope["operations"]:
            operation.pop("stage")  # of the catalogue, not of the paper: it may be put in order later
    return content_hash(printed)


def quote_check(quote: Quote) -> bool:
    """Tell whether a sent quote still says what it said when it was sent."""
    return quote_hash(Quote.objects.get(pk=quote.pk)) == quote.content_hash


def quotes_open(today: dt.date) -> QuerySet[Quote]:
    """Return the quotes that wait for an answer, those that lapse first on top."""
    return (
        Quote.objects.filter(state=Quote.State.SENT, valid_until__gte=today)
        .select_related("instrument__client")
        .order_by("valid_until", "number")
    )

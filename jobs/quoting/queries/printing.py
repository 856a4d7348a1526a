"""A quote as it is read, built from its rows; and whether the rows still say what was sent."""

from dataclasses import asdict
from decimal import Decimal
from typing import Any

from django.utils import timezone

from jobs.assessment.models import Assessment, Finding
from jobs.quoting.calc import canonical
from jobs.quoting.calc.cautions import client_cautions
from jobs.quoting.calc.pricing import Amount, totals
from jobs.quoting.calc.printed import (
    PrintedCharge,
    PrintedFinding,
    PrintedOperation,
    PrintedQuote,
    PrintedRate,
    PrintedScope,
    PrintedWords,
)
from jobs.quoting.models import Quote, QuotePaper, Scope, ScopeCharge, ScopeOperation
from workshop.house.queries import the_shop
from workshop.people.models import Person

SHOP_WORDS = ("name", "street", "town", "postcode", "email", "phone", "vat_number", "currency")
_SEVERITY = {"safety": 0, "playing": 1, "wear": 2, "looks": 3}
NOT_PRINTED = ("state", "content_hash")


def quote_print(quote: Quote) -> PrintedQuote:
    """Return everything the quote says. A draft is shown with the words and figures of now."""
    paper = QuotePaper.objects.filter(quote=quote).first()
    words = paper.words if paper else words_now(quote, by=quote.created_by)
    return PrintedQuote(
        number=quote.number,
        state=quote.state,
        letter=quote.letter,
        vat_mode=quote.vat_mode,
        vat_percent=quote.vat_percent,
        hourly_rate=quote.hourly_rate,
        deposit_percent=quote.deposit_percent,
        currency=words["shop"]["currency"],
        sent_on=timezone.localdate(quote.sent_at) if quote.sent_at else None,
        valid_until=quote.valid_until,
        content_hash=quote.content_hash,
        words=_words(words),
        scopes=tuple(_scope(scope, quote.vat_mode) for scope in _scopes(quote)),
    )


def hash_of_rows(quote: Quote) -> str:
    """Return the hash of what the quote's rows say now; state and the kept hash are no part of it."""
    content = asdict(quote_print(quote))
    for name in NOT_PRINTED:
        content.pop(name)
    for scope in content["scopes"]:
        if scope["answer_by"] is None:  # quotes sent before such days were told keep the hash they had
            del scope["answer_by"]
    return canonical.content_hash(content)


def quote_check(quote: Quote) -> bool:
    """Tell whether a sent quote still says what it said when it was sent; the rows are read anew."""
    row = Quote.objects.select_related("instrument__client", "created_by").get(pk=quote.pk)
    return bool(row.content_hash) and hash_of_rows(row) == row.content_hash


def words_now(quote: Quote, *, by: Person) -> dict[str, Any]:
    """Return to whom and about what the letter would be today, with findings and cautions, as plain data."""
    instrument, shop = quote.instrument, the_shop()
    client = instrument.client
    texts = ScopeOperation.objects.filter(scope__quote=quote).exclude(because=ScopeOperation.Because.REFUSED)
    raised = [*texts.values_list("operation__cautions", flat=True).distinct(), instrument.cautions]
    return {
        "client_name": client.name,
        "dear": client.dear,
        "client_address": client.address,
        "instrument": instrument.words,
        "instrument_number": instrument.number,
        "shop": {name: str(getattr(shop, name)) for name in SHOP_WORDS},
        "findings": _findings(quote.assessment),
        "cautions": list(client_cautions(raised)),
        "signed": str(by),
    }


def _findings(assessment: Assessment | None) -> list[dict[str, str]]:
    if assessment is None:
        return []
    kept = assessment.findings.filter(state=Finding.State.KEPT)
    ordered = sorted(kept, key=lambda finding: (_SEVERITY[finding.severity], finding.position, finding.pk))
    return [
        {
            "severity": str(finding.get_severity_display()),
            "certainty": str(finding.get_certainty_display()),
            "sentence": finding.sentence,
        }
        for finding in ordered
    ]


def _words(words: dict[str, Any]) -> PrintedWords:
    findings = tuple(PrintedFinding(**finding) for finding in words["findings"])
    return PrintedWords(**{**words, "findings": findings, "cautions": tuple(words["cautions"])})


def _scopes(quote: Quote) -> list[Scope]:
    return list(Scope.objects.filter(quote=quote).prefetch_related("operations__operation", "charges"))


def _scope(scope: Scope, mode: str) -> PrintedScope:
    nought = Decimal(0)
    return PrintedScope(
        pk=scope.pk,
        position=scope.position,
        title=scope.title,
        notice=scope.notice,
        stays_open=scope.stays_open,
        hours_likely=scope.hours_likely or nought,
        hours_80=scope.hours_80 or nought,
        net_likely=scope.net_likely or nought,
        vat_likely=scope.vat_likely or nought,
        total_likely=scope.total_likely or nought,
        total_80=scope.total_80 or nought,
        ready_on=scope.ready_on,
        ready_chance=scope.ready_chance,
        answer_by=scope.answer_by,
        operations=tuple(_operation(row) for row in scope.operations.all()),
        charges=tuple(_charge(row, mode) for row in scope.charges.all()),
        rates=_rates(scope, mode),
    )


def _rates(scope: Scope, mode: str) -> tuple[PrintedRate, ...]:
    amounts = [Amount(row.net, row.gross, row.vat_percent) for row in scope.charges.all()]
    return tuple(PrintedRate(each.rate, each.without_vat, each.vat) for each in totals(amounts, mode).rates)


def _operation(row: ScopeOperation) -> PrintedOperation:
    return PrintedOperation(
        code=row.operation.code,
        stage=row.operation.stage,
        words=row.words,
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
        kind_words=str(row.get_kind_display()),
        stage=row.stage,
        words=row.words,
        net=row.net,
        gross=row.gross,
        vat_percent=row.vat_percent,
        shown=row.gross if mode == "gross" else row.net,
    )

"""Draws a quote as a letter: what was found, the ways side by side, what each holds and costs, how to answer."""

from jobs.operations.models import Stage
from jobs.quoting.calc.printed import PrintedQuote, PrintedScope
from workshop.calendar.words import chance_words, day_words_year, hours_words
from workshop.documents.paper import SMALL, Paper
from workshop.house.models import Shop
from workshop.money.words import money, money_range

STAGES = {stage.value: str(stage.label) for stage in Stage}


def quote_pdf(quote: PrintedQuote) -> bytes:
    """Return the quote as PDF, A4."""
    said = quote.words
    shop = Shop(**said.shop)
    paper = Paper(shop, f"Quote {quote.number}: {said.instrument}, our no. {said.instrument_number}")
    paper.text(f"{said.client_name}\n{said.client_address}")
    paper.gap(4)
    paper.heading(f"Your {said.instrument}")
    when = day_words_year(quote.sent_on) if quote.sent_on else "draft, not sent"
    paper.text(f"Quote {quote.number}, {when}", SMALL)
    paper.gap(2)
    paper.letter(f"Dear {said.dear},\n\n{quote.letter}")
    _found(paper, quote)
    _side_by_side(paper, quote)
    for scope in quote.scopes:
        _scope(paper, quote, scope)
    _close(paper, quote)
    return paper.render()


def _found(paper: Paper, quote: PrintedQuote) -> None:
    if quote.words.findings:
        paper.part("What we found")
    for finding in quote.words.findings:
        paper.text(f"{finding.sentence}")
        paper.text(f"{finding.severity}; {finding.certainty}", SMALL)
        paper.gap(1.5)


def _side_by_side(paper: Paper, quote: PrintedQuote) -> None:
    paper.part("How we could go on" if len(quote.scopes) == 1 else f"{len(quote.scopes)} ways to go on")
    paper.text("The lower price is what it comes to if all goes as usual; the higher one holds eight times in ten.")
    paper.gap(2)
    rows = [
        (
            f"{scope.position} {scope.title}",
            scope.notice or "–",
            f"{hours_words(float(scope.hours_likely))}; {hours_words(float(scope.hours_80))}",
            money_range(scope.total_likely, scope.total_80),
            _ready(scope),
        )
        for scope in quote.scopes
    ]
    paper.table(
        ("Way", "What you would notice", "Hours: likely; 8 in 10", "Price with VAT", "Home again"),
        rows,
        numbers=(2, 3),
        widths_mm=(40, 52, 26, 28, 28),
    )


def _ready(scope: PrintedScope) -> str:
    if scope.ready_on is None:
        return "we will tell you"
    chance = f", {chance_words(float(scope.ready_chance))}" if scope.ready_chance is not None else ""
    return f"{day_words_year(scope.ready_on)}{chance}"


def _scope(paper: Paper, quote: PrintedQuote, scope: PrintedScope) -> None:
    paper.part(f"{scope.position} {scope.title}")
    if scope.stays_open:
        paper.text(f"What stays open: {scope.stays_open}")
        paper.gap(1)
    for operation in scope.work:
        paper.text(f"• {operation.words}")
    for operation in scope.refused:
        paper.text(f"Left out: {operation.words}. {operation.reason}", SMALL)
    paper.gap(2)
    rows = [(f"{charge.kind_words}: {charge.words}", money(charge.shown)) for charge in scope.charges]
    rows += [
        ("Without VAT", money(scope.net_likely)),
        (f"VAT {quote.vat_percent.normalize():f} per cent", money(scope.vat_likely)),
        ("Together, VAT included", money(scope.total_likely)),
        ("This holds eight times in ten, VAT included", money(scope.total_80)),
    ]
    paper.table(("What it is for", f"Amount, {quote.priced_in}"), rows, numbers=(1,), widths_mm=(130, 44), totals=4)


def _close(paper: Paper, quote: PrintedQuote) -> None:
    if quote.words.cautions:
        paper.part("Before you decide")
    for caution in quote.words.cautions:
        paper.caution(caution)
    paper.part("How to answer")
    until = f" These prices and dates hold until {day_words_year(quote.valid_until)}." if quote.valid_until else ""
    paper.text(
        f"On your private page, or by letter with your name.{until} On acceptance a deposit of "
        f"{quote.deposit_percent.normalize():f} per cent falls due. If we find something that changes the work, we ask "
        "you first, with its price and date; nothing is added without your written word."
    )
    paper.gap(6)
    paper.letter(f"With kind regards,\n{quote.words.signed}, for {quote.words.shop['name']}")
    if quote.content_hash:
        paper.text(f"Fingerprint of this quote: {quote.content_hash}", SMALL)

"""Draws a quote as a letter: what was found, the ways side by side, what each holds and costs, how to answer."""

from decimal import Decimal

from jobs.operations.models import Stage
from jobs.quoting.calc.printed import PrintedOperation, PrintedQuote, PrintedScope
from workshop.calendar.words import chance_words, count_words, day_words_year, hours_words
from workshop.documents.paper import SMALL, Paper
from workshop.house.models import Shop
from workshop.money.words import money, money_range

STAGES = {stage.value: str(stage.label) for stage in Stage}
WIDTH_MM = 174.0


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
    if not quote.words.findings:
        return
    paper.part("What we found")
    rows = [(_line(finding.sentence), f"{finding.severity}; {finding.certainty}") for finding in quote.words.findings]
    paper.table(("In plain words", "What it touches; how we know"), rows, widths_mm=(124, 50))


def _side_by_side(paper: Paper, quote: PrintedQuote) -> None:
    ways = quote.scopes
    paper.part("How we would go on" if len(ways) == 1 else f"{count_words(len(ways)).capitalize()} ways to go on")
    paper.text(
        "The lower price is what it comes to if all goes as usual; the higher one holds eight times in ten. So do the "
        "longer hours and the day it is home again."
    )
    paper.gap(2)
    rows = [
        ("What you would notice", *(_line(scope.notice) or "–" for scope in ways)),
        ("Price with VAT", *(money_range(scope.total_likely, scope.total_80, quote.currency) for scope in ways)),
        ("Hours of work", *(f"{_hours(scope.hours_likely)} to {_hours(scope.hours_80)}" for scope in ways)),
        ("Home again", *(_ready(scope) for scope in ways)),
        ("What stays open", *(_line(scope.stays_open) or "nothing we know of" for scope in ways)),
    ]
    column = (WIDTH_MM - 30) / len(ways) if ways else WIDTH_MM - 30
    heads = ("", *(f"{scope.position} {scope.title}" for scope in ways))
    paper.table(heads, rows, widths_mm=(30, *(column for _ in ways)))


def _line(text: str) -> str:
    # A cell cannot run over a page: words typed with many line ends are set as running text.
    return " ".join(text.split())


def _hours(hours: Decimal) -> str:
    return hours_words(float(hours))


def _ready(scope: PrintedScope) -> str:
    if scope.ready_on is None:
        return "we will tell you"
    chance = f",\n{chance_words(float(scope.ready_chance))}" if scope.ready_chance is not None else ""
    by = f",\nif you say yes by {day_words_year(scope.answer_by)}" if scope.answer_by is not None else ""
    return f"{day_words_year(scope.ready_on)}{chance}{by}"


def _scope(paper: Paper, quote: PrintedQuote, scope: PrintedScope) -> None:
    paper.part(f"{scope.position} {scope.title}")
    paper.table(("Stage", "What we do"), _work(scope), widths_mm=(34, WIDTH_MM - 34))
    if scope.refused:
        paper.table(
            ("Left out", "Because"), [(one.words, _line(one.reason)) for one in scope.refused], widths_mm=(87, 87)
        )
    rows = [
        (f"{charge.kind_words}: {_line(charge.words)}", money(charge.shown, quote.currency)) for charge in scope.charges
    ]
    totals = [("Without VAT", money(scope.net_likely, quote.currency))]
    for rate in scope.rates:
        words = f"VAT at {rate.rate.normalize():f} per cent on {money(rate.without_vat, quote.currency)}"
        totals.append((words, money(rate.vat, quote.currency)))
    totals += [
        ("Likely price, VAT included", money(scope.total_likely, quote.currency)),
        ("The price that holds eight times in ten, VAT included", money(scope.total_80, quote.currency)),
    ]
    paper.table(
        (f"What {scope.title} costs", f"Amount, {quote.priced_in}"),
        [*rows, *totals],
        numbers=(1,),
        widths_mm=(WIDTH_MM - 44, 44),
        totals=len(totals),
    )


def _work(scope: PrintedScope) -> list[tuple[str, str]]:
    stages: dict[str, list[PrintedOperation]] = {}
    for operation in scope.work:
        stages.setdefault(operation.stage, []).append(operation)
    return [
        (STAGES[stage], "\n".join(each.words for each in stages[stage])) for stage in Stage.values if stage in stages
    ]


def _close(paper: Paper, quote: PrintedQuote) -> None:
    if quote.words.cautions:
        paper.part("Before you decide")
    for caution in quote.words.cautions:
        paper.caution(caution)
    paper.part("How to answer")
    until = f" These prices and days hold until {day_words_year(quote.valid_until)}." if quote.valid_until else ""
    which = "Tell us which way you choose" if len(quote.scopes) > 1 else "Tell us whether we may begin"
    deposit = (
        f" On acceptance a deposit of {quote.deposit_percent.normalize():f} per cent of the likely price falls due."
        if quote.deposit_percent
        else ""
    )
    paper.text(
        f"{which}, on your private page or by letter with your name; a quote is answered once.{until}{deposit} If we "
        "find something that changes the work, we stop what it touches and ask you first, with its price and day; "
        "nothing is added without your written word."
    )
    paper.gap(6)
    paper.letter(f"With kind regards,\n{quote.words.signed}, for {quote.words.shop['name']}")
    if quote.content_hash:
        paper.text(f"Fingerprint of this quote: {quote.content_hash}", SMALL)

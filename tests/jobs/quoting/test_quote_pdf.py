"""The quote as a letter, read back with pypdf: every figure on it is a row's, and the rows add up to the penny."""

import io
import re
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from jobs.quoting import services
from jobs.quoting.calc.pricing import amount_by_hand, totals
from jobs.quoting.calc.printed import (
    PrintedCharge,
    PrintedFinding,
    PrintedOperation,
    PrintedQuote,
    PrintedRate,
    PrintedScope,
    PrintedWords,
)
from jobs.quoting.pdf import quote_pdf
from jobs.quoting.queries import quote_print
from tests.factories import MOMENT
from workshop.money.words import money, money_range

D = Decimal
AMOUNT = re.compile(r"£[\d,]+\.\d\d")
SHOP = {"name": "The Workshop", "street": "", "town": "Harrowmere", "postcode": "", "email": "", "phone": "",
        "vat_number": "", "currency": "GBP"}  # fmt: skip


def read(pdf):
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)


def printed_scope(position, mode, lines):
    amounts = [amount_by_hand(D(pence) / 100, rate, mode) for pence, rate in lines]
    found = totals(amounts, mode)
    charges = tuple(
        PrintedCharge("outwork", "Work by other houses", "", f"piece {place}", a.net, a.gross, a.rate, a.shown(mode))
        for place, a in enumerate(amounts)
    )
    work = PrintedOperation("x", "keys", "We quieten the keys", "chosen", "", D(1), D(11), D(11), D("14.8"))
    return PrintedScope(
        position, position, f"Way {position}", "", "", D("11.0"), D("14.8"), found.without_vat, found.vat,
        found.with_vat, found.with_vat + D("100.10"), None, None, None, (work,), charges,
        tuple(PrintedRate(each.rate, each.without_vat, each.vat) for each in found.rates),
    )  # fmt: skip


def printed_quote(mode, scopes, **more):
    words = PrintedWords("Mrs Ferrowby", "Mrs Ferrowby", "1 The Lane", "Larkwhistle grand", 212, SHOP, (), (), "Tamsin")
    given = {"letter": "Hello.", "words": words, **more}
    return PrintedQuote(
        7, "sent", given["letter"], mode, D(20), D(48), D(30), "GBP", None, None, "f" * 64, given["words"], scopes
    )


lines = st.lists(st.tuples(st.integers(1, 3_000_000), st.sampled_from([D(20), D(5), D(0)])), min_size=1, max_size=30)


@settings(max_examples=40)
@given(st.sampled_from(["net", "gross"]), st.lists(lines, min_size=1, max_size=5))
def test_every_amount_on_paper_is_a_rows_and_totals_are_right_to_the_penny(mode, ways):
    scopes = tuple(printed_scope(place, mode, each) for place, each in enumerate(ways, start=1))
    text = read(quote_pdf(printed_quote(mode, scopes)))
    expected = []
    for scope, given_lines in zip(scopes, ways, strict=True):
        whole = sum(pence for pence, _ in given_lines)
        assert (scope.total_likely if mode == "gross" else scope.net_likely) == D(whole) / 100
        assert scope.net_likely + scope.vat_likely == scope.total_likely
        expected += [money(charge.shown) for charge in scope.charges]
        expected += [money(scope.net_likely)]
        for rate in scope.rates:
            expected += [money(rate.without_vat), money(rate.vat)]
        expected += [money(scope.total_likely), money(scope.total_80)]
    assert AMOUNT.findall(text) == expected


def test_the_rows_of_a_sent_quote_are_the_figures_of_its_paper(draft, scope, boss):
    services.charge_write(scope=scope, kind="outwork", words="Plating", amount=D("333.33"), vat_percent=D(5))
    second = services.scope_add(quote=draft, copy_of=scope)
    services.scope_write(
        scope=second, chosen={"ac-shank": None, "tn-settle": D(2)}, refused={"rg-fine": "Next year."}, title="More",
        notice="A touch like new", stays_open="The bass stays as it is",
    )  # fmt: skip
    quote = services.quote_send(quote=draft, by=boss, at=MOMENT)
    text = " ".join(read(quote_pdf(quote_print(quote))).split())
    for row in quote.scopes.all():
        assert money_range(row.total_likely, row.total_80) in text
        for figure in (row.net_likely, row.total_likely, row.total_80, *row.charges.values_list("gross", flat=True)):
            assert money(figure) in text
        assert f"{row.hours_likely:f}".removesuffix(".0").split(".")[0] in text
    for words in ("Dear Mrs Ferrowby,", "VAT at 5 per cent on £317.46", "Next year.", "A touch like new",
                  "These prices and days hold until Mon 8 Feb 2027", "a deposit of 30 per cent", "answered once",
                  "Larkwhistle grand, about 1887", "may hold lead", quote.content_hash):  # fmt: skip
        assert words in text


def test_the_same_quote_gives_the_same_bytes(sent):
    assert quote_pdf(quote_print(sent)) == quote_pdf(quote_print(sent))


@pytest.mark.parametrize(("percent", "said"), [(D(0), False), (D(30), True)])
def test_a_deposit_is_spoken_of_only_where_there_is_one(draft, scope, percent, said):
    draft.deposit_percent = percent
    draft.save()
    assert ("deposit" in read(quote_pdf(quote_print(draft)))) is said


def test_a_draft_says_that_it_is_one(draft, scope):
    text = read(quote_pdf(quote_print(draft)))
    assert "draft, not sent" in text
    assert "Fingerprint" not in text


@pytest.mark.parametrize("words", ["<b>bold</b> & “more”", "Ω ♯ ½ é", "x" * 4000, "line\n\nline\n" * 60])
def test_hostile_and_long_words_are_printed_as_they_are(words):
    hard = PrintedWords(
        words[:120], words[:120], words[:300], words[:200], 1, SHOP,
        (PrintedFinding("Safety", "seen", words[:400]),), (), "Tamsin",
    )  # fmt: skip
    pdf = quote_pdf(printed_quote("gross", (printed_scope(1, "gross", [(100, D(20))]),), letter=words, words=hard))
    text = read(pdf)
    assert "£1.00" in text
    if len(words) < 100:
        assert words in text


def test_findings_come_by_severity_with_how_they_are_known():
    words = PrintedWords(
        "Mrs Ferrowby", "Mrs Ferrowby", "", "Larkwhistle grand", 212, SHOP,
        (PrintedFinding("Safety", "seen", "The leg is loose."), PrintedFinding("Wear", "inferred", "Hammers worn.")),
        (), "Tamsin",
    )  # fmt: skip
    text = read(quote_pdf(printed_quote("gross", (printed_scope(1, "gross", [(100, D(20))]),), words=words)))
    assert text.index("The leg is loose.") < text.index("Hammers worn.")
    assert "Wear; inferred" in text

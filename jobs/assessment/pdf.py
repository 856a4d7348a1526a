"""Draws an assessment on paper: the findings with their strips, then every reading."""

import importlib.util
import io
from collections.abc import Iterator, Sequence
from itertools import groupby
from pathlib import Path
from xml.sax.saxutils import escape

from reportlab import rl_config
from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    Flowable,
    KeepTogether,
    PageBreak,
    Paragraph,
    SimpleDocTemplate,
    Spacer,
    Table,
    TableStyle,
)

from jobs.assessment.queries import AssessmentPage
from jobs.assessment.queries.page import FindingRow, ReadingRow
from workshop.calendar.words import day_words_year
from workshop.documents.strip_paper import StripOnPaper
from workshop.house.models import Shop

rl_config.invariant = 1  # the same record gives the same bytes
SANS, BOLD, SERIF = "DejaVuSans", "DejaVuSans-Bold", "DejaVuSerif"
COLUMNS = 4  # of note and reading, side by side
SOFT, RULE = HexColor("#444444"), HexColor("#bbbbbb")
TEXT = ParagraphStyle("text", fontName=SANS, fontSize=9, leading=12.5)
SMALL = ParagraphStyle("small", parent=TEXT, fontSize=7.5, leading=10, textColor=SOFT)
FINDING = ParagraphStyle("finding", fontName=SERIF, fontSize=11.5, leading=15)
TITLE = ParagraphStyle("title", fontName=SERIF, fontSize=18, leading=22, spaceAfter=3 * mm)
HEAD = ParagraphStyle("head", fontName=SERIF, fontSize=13, leading=16, spaceBefore=5 * mm, spaceAfter=2 * mm)
_GRID = [
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("LINEBELOW", (0, 0), (-1, -1), 0.4, RULE),
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("TOPPADDING", (0, 0), (-1, -1), 1.5),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
]


def _fonts() -> None:
    """Register the Unicode fonts that matplotlib carries; they are embedded, so that ♯ and − are on every machine."""
    if SERIF in pdfmetrics.getRegisteredFontNames():
        return
    found = importlib.util.find_spec("matplotlib")
    if found is None or not found.submodule_search_locations:
        raise RuntimeError("The fonts of the papers are missing: install matplotlib, which carries them.")
    folder = Path(found.submodule_search_locations[0]) / "mpl-data" / "fonts" / "ttf"
    for name in (SANS, BOLD, SERIF):
        pdfmetrics.registerFont(TTFont(name, str(folder / f"{name}.ttf")))


def draw(page: AssessmentPage, shop: Shop) -> bytes:
    """Return the paper as PDF, A4."""
    _fonts()
    instrument = page.assessment.instrument
    title = f"No. {instrument.number} {instrument.words}: assessment of {day_words_year(page.assessment.on)}"
    out = io.BytesIO()
    document = SimpleDocTemplate(
        out,
        pagesize=A4,
        leftMargin=18 * mm - 6,  # the frame itself keeps six points free
        rightMargin=18 * mm - 6,
        topMargin=24 * mm,
        bottomMargin=20 * mm,
        title=title,
        author=shop.name,
    )

    def frame(canvas: Canvas, _: SimpleDocTemplate) -> None:
        place = ", ".join(part for part in (shop.street, shop.town, shop.postcode) if part)
        canvas.setFont(SERIF, 11)
        canvas.drawString(18 * mm, A4[1] - 15 * mm, shop.name)
        canvas.setFont(SANS, 7.5)
        canvas.setFillColor(SOFT)
        canvas.drawRightString(A4[0] - 18 * mm, A4[1] - 15 * mm, place)
        canvas.drawString(18 * mm, 12 * mm, title)
        canvas.drawRightString(A4[0] - 18 * mm, 12 * mm, f"page {canvas.getPageNumber()}")

    document.build(list(_story(page)), onFirstPage=frame, onLaterPages=frame)
    return out.getvalue()


def _p(text: str, style: ParagraphStyle = TEXT) -> Paragraph:
    return Paragraph(escape(text).replace("\n", "<br/>"), style)


def _story(page: AssessmentPage) -> Iterator[Flowable]:
    assessment, instrument = page.assessment, page.assessment.instrument
    yield _p(instrument.words, TITLE)
    air = [f"{assessment.temperature_c} °C" if assessment.temperature_c is not None else ""]
    air.append(f"{assessment.humidity_percent} % RH" if assessment.humidity_percent is not None else "")
    facts = [
        f"No. {instrument.number}, {instrument.compass.words()}, of {instrument.client}",
        f"{assessment.get_purpose_display()} assessment by {assessment.by}, {day_words_year(assessment.on)}",
        ", ".join(filter(None, [assessment.where, assessment.state_words, *air])),
    ]
    yield _p(". ".join(facts) + ".")
    if instrument.cautions:
        yield Spacer(0, 2 * mm)
        yield _p(f"Take care. {instrument.cautions}", ParagraphStyle("care", parent=TEXT, fontName=BOLD))
    yield _p("Findings", HEAD)
    standing = [row for row in page.findings if row.finding.state != "struck"]
    if not standing:
        yield _p("Nothing out of the ordinary stands.")
    for row in standing:
        yield from _finding(row)
    if page.remarks:
        yield _p("Remarks", HEAD)
    for remark in page.remarks:
        yield _p(f"{remark.area}: {remark.text}" if remark.area else remark.text)
    yield PageBreak()
    yield from _appendix(page)


def _finding(row: FindingRow) -> Iterator[Flowable]:
    finding = row.finding
    confirmed = "" if finding.state == "kept" else ", to be confirmed"
    parts: list[Flowable] = [
        _p(f"{finding.get_severity_display()}, {finding.get_certainty_display()}{confirmed}", SMALL),
        _p(finding.sentence, FINDING),
    ]
    if finding.why:
        parts.append(_p(finding.why, TEXT))
    if row.strip is not None:
        parts += [Spacer(0, 2 * mm), StripOnPaper(row.strip, SANS, BOLD), _p(row.strip.title, SMALL)]
    calls = ", ".join(operation.name for operation in finding.operations.all())
    if calls:
        parts.append(_p(f"Calls for: {calls}", SMALL))
    yield KeepTogether([*parts, Spacer(0, 4 * mm)])


def _appendix(page: AssessmentPage) -> Iterator[Flowable]:
    yield _p("Every reading", TITLE)
    if not page.rows:
        yield _p("Nothing was read.")
    drawn = {each.measure.pk: each.strip for each in page.drawn}
    shown = {row.finding.measure_id for row in page.findings if row.strip is not None and row.finding.state != "struck"}
    noted = [row for row in page.rows if row.at_note]
    for measure, rows in groupby(noted, key=lambda row: row.measure):
        yield _p(measure.name, HEAD)
        if measure.pk in drawn and measure.pk not in shown:
            yield StripOnPaper(drawn[measure.pk], SANS, BOLD)
        yield _columns(list(rows))
    if page.places:
        yield _p("By section, by panel, or for the whole instrument", HEAD)
        yield _places(page.places)


def _columns(rows: Sequence[ReadingRow]) -> Table:
    """Return notes and readings in four pairs of columns, read downwards."""
    long = -(-len(rows) // COLUMNS)
    cells: list[list[object]] = [[""] * (2 * COLUMNS) for _ in range(long)]
    for place, row in enumerate(rows):
        column, line = divmod(place, long)
        words = f"{row.words} ({row.against})" if row.against else row.words
        cells[line][2 * column] = _p(row.where, SMALL)
        cells[line][2 * column + 1] = _p(f"{words}; {row.remark}" if row.remark else words, SMALL)
    table = Table(cells, colWidths=[11 * mm, 32.5 * mm] * COLUMNS)
    table.setStyle(TableStyle(_GRID))
    return table


def _places(rows: Sequence[ReadingRow]) -> Table:
    head = [_p(name, SMALL) for name in ("Measure", "Where", "Reading", "Ordinary")]
    cells = [head]
    for row in rows:
        words = f"{row.words} ({row.against})" if row.against else row.words
        words = f"{words}; {row.remark}" if row.remark else words
        cells.append([_p(row.measure.name), _p(row.where), _p(words), _p(row.ordinary)])
    table = Table(cells, colWidths=[62 * mm, 32 * mm, 50 * mm, 30 * mm], repeatRows=1)
    table.setStyle(TableStyle(_GRID))
    return table

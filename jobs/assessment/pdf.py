"""Draws an assessment on paper: the findings with their strips, then every reading."""

from collections.abc import Sequence
from itertools import groupby

from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, PageBreak, Table, TableStyle

from jobs.assessment.queries import AssessmentPage
from jobs.assessment.queries.page import FindingRow, ReadingRow
from workshop.calendar.words import day_words_year
from workshop.documents.paper import HEAD, RULE, SERIF, SMALL, WIDTH, Paper, words
from workshop.house.models import Shop

COLUMNS = 4  # of note and reading, side by side
NOTE_WIDTH = 11 * mm
FINDING = ParagraphStyle("finding", fontName=SERIF, fontSize=11.5, leading=15)


def draw(page: AssessmentPage, shop: Shop) -> bytes:
    """Return the paper as PDF, A4."""
    assessment, instrument = page.assessment, page.assessment.instrument
    on = day_words_year(assessment.on)
    paper = Paper(shop, f"No. {instrument.number} {instrument.words}: assessment of {on}")
    paper.address((str(instrument.client),), (f"{assessment.get_purpose_display().capitalize()} assessment", on))
    paper.heading(instrument.words)
    paper.facts(_facts(page))
    paper.gap(3)
    if instrument.cautions:
        paper.caution(f"Take care. {instrument.cautions}")
    _findings(paper, page)
    if page.remarks:
        paper.part("Remarks")
    for remark in page.remarks:
        paper.text(f"{remark.area}: {remark.text}" if remark.area else remark.text)
    paper.add(PageBreak())
    _readings(paper, page)
    return paper.render()


def _facts(page: AssessmentPage) -> list[tuple[str, str]]:
    assessment, instrument = page.assessment, page.assessment.instrument
    air = [f"{assessment.temperature_c} °C" if assessment.temperature_c is not None else ""]
    air.append(f"{assessment.humidity_percent} % RH" if assessment.humidity_percent is not None else "")
    facts = [
        ("Instrument", f"No. {instrument.number}, {instrument.compass.words()}"),
        ("Read by", ", ".join(filter(None, [str(assessment.by), assessment.where]))),
        ("State", assessment.state_words),
        ("Room", ", ".join(filter(None, air))),
    ]
    return [(name, value) for name, value in facts if value]


def _findings(paper: Paper, page: AssessmentPage) -> None:
    paper.part("Findings")
    standing = [row for row in page.findings if row.finding.state != "struck"]
    if not standing:
        paper.text("Nothing out of the ordinary stands.")
    for row in standing:
        with paper.together():
            _finding(paper, row)


def _finding(paper: Paper, row: FindingRow) -> None:
    finding = row.finding
    confirmed = "" if finding.state == "kept" else ", to be confirmed"
    paper.text(f"{finding.get_severity_display()}, {finding.get_certainty_display()}{confirmed}", SMALL)
    paper.text(finding.sentence, FINDING)
    if finding.why:
        paper.text(finding.why)
    if row.strip is not None:
        paper.gap(2)
        paper.strip(row.strip)
    calls = ", ".join(operation.name for operation in finding.operations.all())
    if calls:
        paper.text(f"Calls for: {calls}", SMALL)
    paper.gap(4)


def _readings(paper: Paper, page: AssessmentPage) -> None:
    """Draw every reading: by note in columns under the strip of its measure, then by place."""
    paper.heading("Every reading")
    if not page.rows:
        paper.text("Nothing was read.")
    drawn = {each.measure.pk: each.strip for each in page.drawn}
    shown = {row.finding.measure_id for row in page.findings if row.strip is not None and row.finding.state != "struck"}
    noted = [row for row in page.rows if row.at_note]
    for measure, rows in groupby(noted, key=lambda row: row.measure):
        if measure.pk in drawn and measure.pk not in shown:
            with paper.together():
                paper.text(measure.name, HEAD)
                paper.strip(drawn[measure.pk])
        else:
            paper.part(measure.name)
        paper.add(_columns(list(rows)))
    if page.places:
        paper.part("By section, by panel, or for the whole instrument")
        paper.table(
            ("Measure", "Where", "Reading", "Ordinary"),
            [(row.measure.name, row.where, _reading(row), row.ordinary) for row in page.places],
            widths_mm=(62, 32, 50, 30),
        )


def _reading(row: ReadingRow) -> str:
    against = f"{row.words} ({row.against})" if row.against else row.words
    return f"{against}; {row.remark}" if row.remark else against


def _columns(rows: Sequence[ReadingRow]) -> Table:
    """Return notes and readings in four pairs of columns, read downwards."""
    long = -(-len(rows) // COLUMNS)
    cells: list[list[Flowable | str]] = [[""] * (2 * COLUMNS) for _ in range(long)]
    for place, row in enumerate(rows):
        column, line = divmod(place, long)
        cells[line][2 * column] = words(row.where, SMALL)
        cells[line][2 * column + 1] = words(_reading(row), SMALL)
    table = Table(cells, colWidths=[NOTE_WIDTH, WIDTH / COLUMNS - NOTE_WIDTH] * COLUMNS)
    style = [("VALIGN", (0, 0), (-1, -1), "TOP"), ("LINEBELOW", (0, 0), (-1, -1), 0.4, RULE)]
    edges = [("LEFTPADDING", 0), ("TOPPADDING", 1.5), ("BOTTOMPADDING", 2)]
    table.setStyle(TableStyle([*style, *((name, (0, 0), (-1, -1), size) for name, size in edges)]))
    return table

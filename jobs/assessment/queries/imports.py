"""What a CSV of readings would bring, before any of it is kept."""

from dataclasses import dataclass

from jobs.assessment.calc.csv_readings import CsvFault, CsvReading
from jobs.assessment.calc.values import short_unit
from jobs.assessment.models import Assessment, Measure
from jobs.assessment.queries.records import csv_read
from workshop.keyboard.calc.notes import key_name
from workshop.keyboard.calc.strip import number_words


@dataclass(frozen=True)
class PreviewRow:
    """One reading of a CSV in words."""

    line: int
    where: str
    measure: str
    words: str


@dataclass(frozen=True)
class Preview:
    """The readings a CSV would bring, how many of them replace one that stands, and what is wrong."""

    rows: tuple[PreviewRow, ...]
    faults: tuple[CsvFault, ...]
    replaces: int


def import_preview(assessment: Assessment, text: str) -> Preview:
    """Return what a CSV would bring to an assessment; nothing is kept."""
    rows, faults = csv_read(assessment.instrument, text)
    measures = {each.code: each for each in Measure.objects.filter(code__in={row.measure for row in rows})}
    standing = set(assessment.readings.values_list("measure__code", "spot_kind", "key", "spot"))
    return Preview(
        tuple(
            PreviewRow(
                row.line,
                key_name(row.key) if row.key is not None else row.spot or "whole",
                measures[row.measure].name,
                _words(row, measures[row.measure]),
            )
            for row in rows
        ),
        tuple(faults),
        sum((row.measure, row.spot_kind, row.key, row.spot) in standing for row in rows),
    )


def _words(row: CsvReading, measure: Measure) -> str:
    if row.not_measured:
        return f"not measured: {row.not_measured}"
    if row.value is None:
        return row.choice
    return f"{number_words(row.value)} {short_unit(measure.unit)}".strip()

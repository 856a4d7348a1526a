"""What the page of an assessment shows: the sentence, the strips, the places, and what to read next."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from jobs.assessment.models import Assessment, Finding, Measure, Photograph, Reading, Remark
from jobs.assessment.queries.assessments import findings_of, readings_of
from jobs.assessment.queries.measures import is_note_by_note, measures_for, ordinary_words
from jobs.assessment.queries.strips import against_words, reading_words, spot_words, strip_of
from workshop.keyboard.strip import Strip

# What a thorough assessment does not leave out; common practice, no source.
CORE = (
    "pitch-off",
    "pin-torque",
    "down-weight",
    "up-weight",
    "blow",
    "dip",
    "setoff",
    "groove",
    "centre-swing",
    "side-play",
    "rust",
    "board-crack",
    "frame-crack",
    "finish-grade",
    "joint-loose",
    "moth",
)
NEXT_SHOWN = 5
SPELT = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


@dataclass(frozen=True)
class MeasureRow:
    """One measure of the instrument: how often it was read here, and what is ordinary."""

    measure: Measure
    count: int
    missing: int
    ordinary: str
    note_by_note: bool


@dataclass(frozen=True)
class Drawn:
    """A measure read at notes, on its strip."""

    measure: Measure
    strip: Strip


@dataclass(frozen=True)
class FindingRow:
    """A finding, with the strip of the readings behind it where they belong to notes."""

    finding: Finding
    strip: Strip | None


@dataclass(frozen=True)
class ReadingRow:
    """One reading in words, and how it lies against what is ordinary."""

    measure: Measure
    where: str
    words: str
    ordinary: str
    against: str
    remark: str
    at_note: bool


@dataclass(frozen=True)
class AssessmentPage:
    """All that the page, and the paper, of an assessment say."""

    assessment: Assessment
    sentence: str
    findings_sentence: str
    drawn: tuple[Drawn, ...]
    drawn_alone: tuple[Drawn, ...]
    rows: tuple[ReadingRow, ...]
    places: tuple[ReadingRow, ...]
    findings: tuple[FindingRow, ...]
    remarks: tuple[Remark, ...]
    photographs: tuple[Photograph, ...]
    next_rows: tuple[MeasureRow, ...]
    areas: tuple[tuple[str, tuple[MeasureRow, ...]], ...]


def assessment_page(assessment: Assessment) -> AssessmentPage:
    """Return everything about one assessment, in a fixed number of reads however much was read."""
    instrument = assessment.instrument
    readings = readings_of(assessment)
    measures = measures_for(instrument)
    rows = _rows(measures, readings, assessment)
    noted = {reading.measure_id for reading in readings if reading.key is not None}
    at_notes = [measure for measure in measures if is_note_by_note(measure) and measure.pk in noted]
    to_come = [row for row in _in_core_order(rows) if not row.count]
    drawn = tuple(Drawn(measure, strip_of(instrument, measure, readings)) for measure in at_notes)
    findings = _finding_rows(findings_of(assessment), drawn)
    told = {row.finding.measure_id for row in findings if row.strip is not None}
    return AssessmentPage(
        assessment=assessment,
        sentence=_sentence(rows, to_come, len(instrument.compass), finished=assessment.finished_at is not None),
        findings_sentence=_findings_sentence([row.finding for row in findings]),
        drawn=drawn,
        drawn_alone=tuple(each for each in drawn if each.measure.pk not in told),
        rows=tuple(_reading_rows(readings, measures, assessment)),
        places=tuple(_reading_rows([r for r in readings if r.key is None], measures, assessment)),
        findings=findings,
        remarks=tuple(assessment.remarks.select_related("by")),
        photographs=tuple(assessment.photographs.all()),
        next_rows=tuple(to_come[:NEXT_SHOWN]),
        areas=_areas(rows),
    )


def _finding_rows(findings: Sequence[Finding], drawn: Sequence[Drawn]) -> tuple[FindingRow, ...]:
    """Give each standing finding the strip of its measure; a strip is drawn once."""
    strips = {each.measure.pk: each.strip for each in drawn}
    return tuple(
        FindingRow(
            finding,
            strips.pop(finding.measure_id, None)
            if finding.measure_id is not None and finding.state != Finding.State.STRUCK
            else None,
        )
        for finding in findings
    )


def _findings_sentence(findings: Sequence[Finding]) -> str:
    standing = [each for each in findings if each.state != Finding.State.STRUCK]
    if not standing:
        return "Nothing out of the ordinary stands."
    asked = sum(each.state == Finding.State.PROPOSED for each in standing)
    count = len(standing)
    text = f"{_spelt(count)} finding{'s' * (count > 1)}".capitalize()
    safety = sum(each.severity == "safety" for each in standing)
    if safety:
        text += ", a matter of safety" if count == 1 else f", {_spelt(safety)} of them a matter of safety"
    return (
        f"{text}; {_spelt(asked) if asked < count else 'all' if count > 1 else 'it'} to confirm."
        if asked
        else f"{text}."
    )


def _spelt(number: int) -> str:
    return SPELT[number - 1] if 0 < number <= len(SPELT) else str(number)


def _rows(measures: Sequence[Measure], readings: Sequence[Reading], assessment: Assessment) -> list[MeasureRow]:
    counts: dict[int, int] = {}
    missing: dict[int, int] = {}
    for reading in readings:
        counts[reading.measure_id] = counts.get(reading.measure_id, 0) + 1
        missing[reading.measure_id] = missing.get(reading.measure_id, 0) + bool(reading.not_measured_because)
    return [
        MeasureRow(
            measure,
            counts.get(measure.pk, 0),
            missing.get(measure.pk, 0),
            ordinary_words(measure, assessment.instrument),
            is_note_by_note(measure),
        )
        for measure in measures
    ]


def _reading_rows(
    readings: Sequence[Reading], measures: Sequence[Measure], assessment: Assessment
) -> Iterator[ReadingRow]:
    known = {measure.pk: measure for measure in measures}
    instrument = assessment.instrument
    for reading in readings:
        measure = known.get(reading.measure_id, reading.measure)
        yield ReadingRow(
            measure,
            spot_words(reading),
            reading_words(reading),
            ordinary_words(measure, instrument, reading.key),
            against_words(reading, measure, instrument),
            reading.remark,
            reading.key is not None,
        )


def _in_core_order(rows: Sequence[MeasureRow]) -> list[MeasureRow]:
    by_code = {row.measure.code: row for row in rows}
    return [by_code[code] for code in CORE if code in by_code]


def _areas(rows: Sequence[MeasureRow]) -> tuple[tuple[str, tuple[MeasureRow, ...]], ...]:
    areas: dict[str, list[MeasureRow]] = {}
    for row in rows:
        areas.setdefault(row.measure.area or "other", []).append(row)
    return tuple((area, tuple(found)) for area, found in areas.items())


def _name(row: MeasureRow) -> str:
    name = re.split(r",| \(| against ", row.measure.name)[0]
    return name[:1].lower() + name[1:]


def _list(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _sentence(rows: Sequence[MeasureRow], to_come: Sequence[MeasureRow], notes: int, *, finished: bool) -> str:
    """Return what was read, the core of an assessment first, and what of the core is still to come, or was not read."""
    read = [row for row in rows if row.count]
    coming = [_name(row) for row in to_come[:3]]
    if not read and finished:
        return "No measure was read."
    if not read:
        return f"Nothing is read yet{f': begin with {coming[0]}' if coming else ''}."
    told = [row for row in _in_core_order(rows) if row.count][:2] or read[:2]
    parts = [f"{_name(row)} at {row.count} of {notes} notes" if row.note_by_note else _name(row) for row in told]
    text = f"Read{'' if finished else ' so far'}: {_and_more(parts, len(read) - len(told), 'measure')}."
    if not to_come:
        return f"{text} Nothing of a thorough assessment is missing."
    return f"{text} {'Not read' if finished else 'Still to come'}: {_and_more(coming, len(to_come) - len(coming))}."


def _and_more(names: Sequence[str], more: int, noun: str = "") -> str:
    if not more:
        return _list(names)
    return _list([*names, f"{_spelt(more)} more {noun}{'s' if noun and more > 1 else ''}".strip()])

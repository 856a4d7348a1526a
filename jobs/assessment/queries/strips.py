"""Readings in words and on the note strip."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

from jobs.assessment.calc.values import UNIT_WORDS, short_unit
from jobs.assessment.models import Assessment, Measure, Reading
from jobs.assessment.queries.measures import grade_words, range_along, range_of
from jobs.intake.models import Instrument
from workshop.keyboard.calc.notes import key_name
from workshop.keyboard.calc.strip import number_words
from workshop.keyboard.strip import Strip, make_strip


def reading_words(reading: Reading) -> str:
    """Return a reading in words, with its unit: "52 g", "no", "not measured, because the string is missing"."""
    if reading.not_measured_because:
        return f"not measured: {reading.not_measured_because}"
    if reading.value is None:
        word = grade_words(reading.measure).get(reading.choice, "")
        return f"{reading.choice} {word}".strip()
    return f"{number_words(float(reading.value), None)} {short_unit(reading.measure.unit)}".strip()


def spot_words(reading: Reading) -> str:
    """Return where a reading was taken: "G♯4", "bass", "the whole instrument"."""
    if reading.key is not None:
        if reading.measure.spot_kinds and "note" not in reading.measure.spot_kinds:
            return f"{key_name(reading.key)} and {key_name(reading.key + 1)}"
        return key_name(reading.key)
    return reading.spot or "whole"


def figure_of(reading: Reading, measure: Measure) -> float | None:
    """Return a reading as a figure: value or grade; 0 for the ordinary answer, 1 for another; None if not measured."""
    if reading.value is not None:
        return float(reading.value)
    if not reading.choice:
        return None
    if measure.value_kind == Measure.ValueKind.GRADE:
        return float(reading.choice)
    return 0.0 if reading.choice == (measure.ordinary_choice or "no") else 1.0


def against_words(reading: Reading, measure: Measure, instrument: Instrument) -> str:
    """Return how far a reading lies outside what is ordinary: "8 over", "2 under", "not ordinary"; "" inside."""
    figure = figure_of(reading, measure)
    if figure is None:
        return ""
    if measure.value_kind not in (Measure.ValueKind.NUMBER, Measure.ValueKind.GRADE):
        return "not ordinary" if figure else ""
    low, high = range_of(measure, instrument, reading.key)
    if high is not None and figure > high:
        return f"{number_words(figure - high)} over"
    if low is not None and figure < low:
        return f"{number_words(low - figure)} under"
    return ""


@dataclass(frozen=True)
class _Notes:
    figures: dict[int, float | None]
    reasons: dict[int, str]
    words: dict[int, str]


def _notes(readings: Iterable[Reading], measure: Measure) -> _Notes:
    at = {r.key: r for r in readings if r.measure_id == measure.pk and r.key is not None}
    return _Notes(
        {key: figure_of(reading, measure) for key, reading in at.items()},
        {key: r.not_measured_because for key, r in at.items() if r.not_measured_because},
        {key: r.choice for key, r in at.items() if r.choice},
    )


def strip_of(
    instrument: Instrument,
    measure: Measure,
    readings: Iterable[Reading],
    *,
    before: Iterable[Reading] | None = None,
    current_key: int | None = None,
    href_for: Callable[[int], str] | None = None,
    progress: str = "",
) -> Strip:
    """Return the note strip of one measure from readings already read; ``before``: those of an earlier assessment."""
    notes = _notes(readings, measure)
    along = range_along(measure, instrument)
    answers = measure.value_kind in (Measure.ValueKind.YES_NO, Measure.ValueKind.CHOICE)
    strip = make_strip(
        instrument.compass,
        notes.figures,
        None if answers or along is None else lambda key: along.limits(key)[0],
        None if answers or along is None else lambda key: along.limits(key)[1],
        short_unit(measure.unit),
        f"{measure.name}, no. {instrument.number}",
        before=None if before is None else _notes(before, measure).figures,
        reasons=notes.reasons,
        caption=measure.name,
        unit_words=_unit_words(measure, progress),
        current_key=current_key,
        href_for=href_for,
    )
    return _with_answers(strip, measure, notes) if answers else strip


def _unit_words(measure: Measure, progress: str) -> str:
    unit = UNIT_WORDS.get(measure.unit, measure.unit)
    return f"{unit}. {progress}".removeprefix(". ") if progress else unit


def _with_answers(strip: Strip, measure: Measure, notes: _Notes) -> Strip:
    """Write answers instead of figures: 0 is the ordinary answer, anything else stands out of range."""
    ordinary = measure.ordinary_choice or "no"
    by_name = {key_name(key): words for key, words in notes.words.items()}
    others = sorted({words for words in notes.words.values() if words != ordinary}) or ["yes"]
    return replace(
        strip,
        dots=tuple(replace(dot, state="out" if dot.value else dot.state) for dot in strip.dots),
        readings=tuple(replace(row, value=by_name.get(row.note, row.value)) for row in strip.readings),
        figures=((0.0, ordinary), (1.0, others[0] if len(others) == 1 else "other")),
        heads=("Note", "Answer", f"Against {ordinary}"),
        description=_answers_words(strip, notes.words, ordinary),
    )


def _answers_words(strip: Strip, words: Mapping[int, str], ordinary: str) -> str:
    stand_out = [f"{key_name(key)} {said}" for key, said in sorted(words.items()) if said != ordinary]
    text = f"{len(words)} of {len(strip.compass)} notes read."
    if stand_out:
        return f"{text} Not {ordinary}: {', '.join(stand_out[:8])}{' and more' if len(stand_out) > 8 else ''}."
    return f"{text} All are {ordinary}." if words else text


def strip_for(
    assessment: Assessment,
    measure: Measure,
    before: Assessment | None = None,
    *,
    current_key: int | None = None,
    href_for: Callable[[int], str] | None = None,
) -> Strip:
    """Return the note strip of one measure in an assessment; those of ``before``, an earlier one, as hollow dots."""
    return strip_of(
        assessment.instrument,
        measure,
        assessment.readings.filter(measure=measure),
        before=None if before is None else before.readings.filter(measure=measure),
        current_key=current_key,
        href_for=href_for,
    )

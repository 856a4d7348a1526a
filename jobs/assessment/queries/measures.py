"""Which measures an instrument has, and what is ordinary for them."""

from dataclasses import dataclass

from django.db.models import Prefetch

from jobs.assessment.calc.ranges import MeasureRange as CalcRange
from jobs.assessment.calc.values import short_unit
from jobs.assessment.measure_data import range_as_data, reference
from jobs.assessment.models import Measure, MeasureRange
from jobs.intake.models import Instrument
from workshop.keyboard.calc.strip import number_words, range_words


def measures_for(instrument: Instrument) -> list[Measure]:
    """Return the measures that can be read on this kind of instrument, in order, with its ranges read along."""
    ranges = MeasureRange.objects.filter(instrument_kind=instrument.kind, era=instrument.era)
    return [
        measure
        for measure in Measure.objects.filter(applies_to__in=("both", instrument.kind)).prefetch_related(
            Prefetch("ranges", queryset=ranges, to_attr="its_ranges")
        )
        if measure.spot_kinds
    ]


def measure_for(instrument: Instrument, code: str) -> Measure | None:
    """Return one measure of this kind of instrument, with its range read along, or None."""
    ranges = MeasureRange.objects.filter(instrument_kind=instrument.kind, era=instrument.era)
    return (
        Measure.objects.filter(code=code, applies_to__in=("both", instrument.kind))
        .prefetch_related(Prefetch("ranges", queryset=ranges, to_attr="its_ranges"))
        .first()
    )


def range_along(measure: Measure, instrument: Instrument) -> CalcRange | None:
    """Return what is ordinary on this kind and era of instrument, with its bends along the compass, or None."""
    rows = getattr(measure, "its_ranges", None)
    if rows is None:
        rows = list(measure.ranges.filter(instrument_kind=instrument.kind, era=instrument.era))
    return range_as_data(rows[0]) if rows else None


def range_of(measure: Measure, instrument: Instrument, key: int | None = None) -> tuple[float | None, float | None]:
    """Return what is ordinary at a key, or for a reading of no note: (low, high), None for an open end."""
    found = range_along(measure, instrument)
    return found.limits(key) if found else (None, None)


def ordinary_words(measure: Measure, instrument: Instrument, key: int | None = None) -> str:
    """Return what is ordinary in words: "46–54 g", "at most 1", "no"; "" when nothing is known."""
    if measure.value_kind in (Measure.ValueKind.NUMBER, Measure.ValueKind.GRADE):
        low, high = range_of(measure, instrument, key)
        return range_words(low, high, short_unit(measure.unit))
    return measure.ordinary_choice


ON_WHICH = (("grand", "modern"), ("grand", "old"), ("upright", "modern"), ("upright", "old"))


@dataclass(frozen=True)
class RangeLine:
    """One range as it is listed: ``on`` an "old grand", say, and what is ordinary there in words."""

    row: MeasureRange
    on: str
    ordinary: str


@dataclass(frozen=True)
class RangesOfMeasure:
    """A measure with its range on each kind and age of instrument, in the order of ``ON_WHICH``; None where none is."""

    measure: Measure
    lines: tuple[RangeLine | None, ...]

    @property
    def sources(self) -> list[str]:
        """Where the ranges come from, each source once; with the instruments it speaks of when there are several."""
        found: dict[str, list[str]] = {}
        for line in filter(None, self.lines):
            found.setdefault(line.row.source or line.row.status, []).append(line.on)
        if len(found) == 1:
            return list(found)
        return [f"{' and '.join(on)}: {source}" for source, on in found.items()]


def ranges_listed() -> list[RangesOfMeasure]:
    """Return every measure that has a range, in the order of the measures."""
    found: dict[Measure, dict[tuple[str, str], RangeLine]] = {}
    rows = MeasureRange.objects.select_related("measure")
    for row in rows.order_by("measure__position", "measure__code"):
        low, high = (None if limit is None else float(limit) for limit in (row.low, row.high))
        unit = short_unit(row.measure.unit)
        words = range_words(low, high, unit) or "not given"
        if low is not None and low == high:
            words = f"only {number_words(low)} {unit}".strip()
        line = RangeLine(row, f"{row.era} {row.instrument_kind}", words)
        found.setdefault(row.measure, {})[row.instrument_kind, row.era] = line
    return [RangesOfMeasure(measure, tuple(map(lines.get, ON_WHICH))) for measure, lines in found.items()]


def is_note_by_note(measure: Measure) -> bool:
    """Tell whether a measure is read at notes."""
    return bool({"note", "pair"} & set(measure.spot_kinds))


def grade_words(measure: Measure) -> dict[str, str]:
    """Return what each grade of a measure means, e.g. {"2": "crazed"}; empty for measures that are no grades."""
    row = next((each for each in reference().measures if each.code == measure.code), None)
    return dict(zip(map(str, measure.choices), row.grade_words, strict=False)) if row else {}

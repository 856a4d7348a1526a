"""Findings of any measure: values outside their range, things seen, things that could not be measured."""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from statistics import median

from jobs.assessment.calc.climate import Trust, reading_trust
from jobs.assessment.calc.findings.records import INFERRED, SEEN, UNKNOWN, Examined, FindingDraft, Measure, Reading
from jobs.assessment.calc.findings.words import (
    along_words,
    count_words,
    filled,
    head,
    place_words,
    range_words,
    value_words,
)
from jobs.assessment.calc.ranges import MeasureRange, side_of
from jobs.assessment.calc.series import coverage, jumps
from workshop.keyboard.calc.notes import key_name

Limits = Callable[[int | None], tuple[float | None, float | None]]

FEW_READ = 1 / 3  # share of the notes below which a claim about a stretch is inferred; common practice, no source
MOVED_BY_AIR = {
    "down-weight", "up-weight", "key-friction", "side-play", "centre-swing", "centre-friction", "pin-torque",
    "pitch-off", "downbearing", "crown", "key-height", "dip",
}  # fmt: skip


def side_draft(
    examined: Examined,
    measure: Measure,
    side: str,
    limits: Limits,
    *,
    template: str = "",
    severity: str = "",
    operations: tuple[str, ...] | None = None,
    source: str = "",
    graver: float | None = None,
) -> FindingDraft | None:
    """Return what the readings on one side ("over", "under") of their limits say, None if there are none.

    ``template``, ``severity`` and ``operations`` stand in for those of the measure. Values under ``graver``
    belong to a graver finding and are not told again.
    """
    template = template or (measure.over if side == "over" else measure.under)
    notes = examined.notes(measure.code)
    out = {key: value for key, value in notes.items() if _told(value, limits(key), side, graver)}
    single = [
        reading
        for reading in examined.valued(measure.code)
        if reading.key is None and _told(reading.value, limits(None), side, graver)
    ]
    if not template or not (out or single):
        return None
    if out and (len(notes) == 1 or "{count" not in template):
        single = [Reading(measure.code, "note", key, value=value) for key, value in out.items()] + single
        sentence = _single_sentence(measure, template, side, single, limits, examined)
    elif out:
        where = along_words(notes, out, examined.compass)
        blanks = {"where": where} | _end_words(measure, list(out), limits)
        sentence = filled(template, blanks, count=len(out), of=len(notes), compass=examined.compass)
    else:
        sentence = _single_sentence(measure, template, side, single, limits, examined)
    values = {**{key_name(key): value for key, value in out.items()}, **_by_spot(single)}
    worst = (max if side == "over" else min)(values, key=lambda spot: values[spot])
    worst_key = next((key for key in out if key_name(key) == worst), None)
    low, high = limits(worst_key)
    figures: dict[str, float] = {"outside": len(values), "worst": values[worst]}
    figures |= {"read": len(notes), "notes": len(examined.compass)} if notes else {}
    figures |= {name: end for name, end in (("low", low), ("high", high)) if end is not None}
    return FindingDraft(
        measure.code,
        severity or measure.severity,
        certainty_of(examined, measure, sentence, bool(out)),
        sentence,
        why_words(examined, measure, worst if len(values) > 1 else "", values[worst], (low, high), source),
        tuple(spot for spot in values if spot),
        measure.operations(side, examined.kind) if operations is None else operations,
        figures,
    )


def outside_drafts(examined: Examined, measure: Measure, found: MeasureRange) -> list[FindingDraft]:
    """Return the findings of a measure with numbers or grades: over its range, under it, or both."""
    drafts = (side_draft(examined, measure, side, found.limits, source=found.source) for side in ("over", "under"))
    return [draft for draft in drafts if draft]


def told_draft(examined: Examined, measure: Measure) -> FindingDraft | None:
    """Return what was seen or heard out of the ordinary (yes/no and choices), None if nothing was."""
    told = [
        reading
        for reading in examined.readings.get(measure.code, ())
        if reading.choice and reading.choice != measure.ordinary_choice
    ]
    if not told or not measure.yes:
        return None
    blanks = {"where": place_words(told)}
    sentence = filled(measure.yes, blanks, count=len(told), compass=examined.compass)
    kinds = Counter(reading.choice for reading in told)
    if measure.value_kind == "choice":
        sentence = f"{sentence.rstrip('.')}: {', '.join(kinds)}."
    spots = tuple(dict.fromkeys(spot_name(reading) for reading in told if spot_name(reading)))
    return FindingDraft(
        measure.code,
        measure.severity,
        SEEN,
        sentence,
        " ".join(filter(None, [measure.meaning, _unread_words(examined, measure)])),
        spots,
        measure.operations("yes", examined.kind),
        {"outside": len(told)},
    )


def unknown_draft(examined: Examined, measure: Measure) -> FindingDraft | None:
    """Return that a measure stays open, when it was asked for and could not be measured anywhere."""
    readings = examined.readings.get(measure.code, ())
    if not readings or any(r.value is not None or r.choice for r in readings):
        return None
    reasons = list(dict.fromkeys(r.not_measured for r in readings if r.not_measured))
    if not reasons:
        return None
    what = measure.client_words or measure.name
    sentence = f"{what} could not be measured{place_words(readings)}: {'; '.join(reasons)}."
    spots = tuple(filter(None, map(spot_name, readings)))
    why = "Nothing is known of it until it can be read. " + measure.meaning
    return FindingDraft(measure.code, measure.severity, UNKNOWN, sentence, why.strip(), spots, ())


def certainty_of(examined: Examined, measure: Measure, sentence: str, along: bool) -> str:
    """Return seen or inferred: a claim about a stretch from few notes, or pins read in dry air, is inferred."""
    notes = examined.notes(measure.code)
    claims = any(words in sentence for words in (" along the keyboard", " from ", "mostly", "here and there"))
    if along and claims and coverage(notes, examined.compass) < FEW_READ:
        return INFERRED
    return INFERRED if measure.code == "pin-torque" and _air_words(examined) else SEEN


def why_words(
    examined: Examined,
    measure: Measure,
    worst: str,
    value: float,
    limits: tuple[float | None, float | None],
    source: str = "",
) -> str:
    """Return what stands behind a finding: meaning, how many were read, the worst, the range, doubts."""
    notes = examined.notes(measure.code)
    said = [measure.meaning]
    if len(notes) > 3:
        said.append(f"{len(notes)} of {len(examined.compass)} notes read, {_middle(notes, measure)}.")
    if worst:
        said.append(f"The worst is {worst} with {value_words(value, measure)}.")
    if limits != (None, None) and measure.value_kind == "number":
        told = f" ({source})" if source else ""
        age = "an old" if examined.era == "old" else "a modern"
        said.append(f"Ordinary on {age} {examined.kind}: {range_words(*limits, measure)}{told}.")
    said += _jump_words(examined, measure, notes)
    said.append(_unread_words(examined, measure))
    if measure.code in MOVED_BY_AIR:
        said.append(_air_words(examined))
    return " ".join(filter(None, said))


def spot_name(reading: Reading) -> str:
    """Return the name of the spot: the note, the section or panel; empty for the whole."""
    return key_name(reading.key) if reading.key is not None else reading.spot


def _told(value: float | None, ends: tuple[float | None, float | None], side: str, graver: float | None) -> bool:
    return value is not None and side_of(value, *ends) == side and (graver is None or value >= graver)


def _single_sentence(
    measure: Measure,
    template: str,
    side: str,
    readings: Sequence[Reading],
    limits: Limits,
    examined: Examined,
) -> str:
    values = [reading.value for reading in readings if reading.value is not None]
    worst = (max if side == "over" else min)(values)
    said = value_words(sum(values) if measure.unit == "count" else worst, measure)
    if len(values) > 1 and measure.unit != "count":
        said += " at worst"
    key = next((reading.key for reading in readings if reading.value == worst), None)
    range_ = range_words(*limits(key), measure)
    blanks = {"where": place_words(readings), "value": said, "range": range_}
    blanks |= _end_words(measure, [key], limits)
    if "{count" in template:
        template = head(template) + ": {value}, where {range} is ordinary."
    elif "{value" not in template:
        template = template.rstrip(".") + ": {value}."
    return filled(template, blanks, count=len(values), compass=examined.compass)


def _end_words(measure: Measure, keys: Sequence[int | None], limits: Limits) -> dict[str, str]:
    words = {}
    for name, place in (("low", 0), ("high", 1)):
        ends = sorted({end for key in keys if (end := limits(key)[place]) is not None})
        if len(ends) > 1:
            shown = range_words(round(ends[0], 1), round(ends[-1], 1), measure)
            words[name] = f"the {shown} ordinary there"
        elif ends:
            words[name] = value_words(ends[0], measure)
    return words


def _by_spot(readings: Sequence[Reading]) -> dict[str, float]:
    return {spot_name(r): r.value for r in readings if r.value is not None}


def _middle(notes: Mapping[int, float], measure: Measure) -> str:
    return f"half of them at {value_words(median(notes.values()), measure)} or more"


def _jump_words(examined: Examined, measure: Measure, notes: Mapping[int, float]) -> list[str]:
    said = []
    for jump in jumps(notes, examined.compass):
        if jump.clear:
            at = "the break" if jump.at == "break" else f"the bar above {key_name(jump.below)}"
            word = "rises" if jump.size > 0 else "falls"
            said.append(f"It {word} by {value_words(abs(jump.size), measure)} at {at}.")
    return said


def _unread_words(examined: Examined, measure: Measure) -> str:
    unread = [r for r in examined.readings.get(measure.code, ()) if r.not_measured]
    if not unread:
        return ""
    reasons = "; ".join(dict.fromkeys(r.not_measured for r in unread))
    return f"Not measured{place_words(unread)}: {reasons}."


def _air_words(examined: Examined) -> str:
    air = examined.climate
    if air is None or air.humidity_percent is None:
        return ""
    warmth = 20.0 if air.temperature_c is None else air.temperature_c
    trust = reading_trust(warmth, air.humidity_percent, None)
    if trust.trust is Trust.GOOD:
        return ""
    reasons = " and ".join(reason.value.replace("_", " ") for reason in trust.reasons)
    return (
        f"Read in {reasons} air ({warmth:g} °C, {air.humidity_percent:g} %): such readings move with the air; "
        "read again in ordinary air before deciding."
    )


__all__ = [
    "certainty_of", "count_words", "outside_drafts", "side_draft", "spot_name", "told_draft", "unknown_draft",
    "why_words",
]  # fmt: skip

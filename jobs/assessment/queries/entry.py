"""What the entry page shows: the note or place in hand, the next one, and the last five."""

from collections.abc import Callable
from dataclasses import dataclass, field

from jobs.assessment.calc.samples import key_before, next_key, sample_keys
from jobs.assessment.calc.spots import spots_of
from jobs.assessment.models import Assessment, Measure, Reading, SpotKind
from jobs.assessment.queries.measures import ordinary_words
from jobs.assessment.queries.strips import strip_of
from workshop.keyboard.strip import Strip

LAST_SHOWN = 5


@dataclass(frozen=True)
class Entry:
    """One measure being entered. ``key`` is None when the set is complete or places are read instead of notes."""

    kind: str
    kinds: tuple[str, ...]
    ordinary: str
    key: int | None = None
    key_words: str = ""
    next_key: int | None = None
    back_key: int | None = None
    spot: str = ""
    spots: tuple[tuple[str, Reading | None], ...] = ()
    next_spot: str = ""
    reading: Reading | None = None
    last: tuple[Reading, ...] = ()
    strip: Strip | None = None
    left: int = 0
    read: dict[int, Reading] = field(default_factory=dict)


def reading_at(
    assessment: Assessment, measure: Measure, *, key: int | None = None, spot_kind: str = SpotKind.WHOLE, spot: str = ""
) -> Reading | None:
    """Return the reading of a measure at one spot, or None."""
    kind = SpotKind.NOTE if key is not None else spot_kind
    return assessment.readings.filter(measure=measure, key=key, spot_kind=kind, spot=spot).first()


def entry_at(
    assessment: Assessment,
    measure: Measure,
    *,
    which: str = "standard",
    kind: str = "",
    key: int | None = None,
    spot: str = "",
    href_for: Callable[[int], str] | None = None,
) -> Entry:
    """Return the state of entering one measure, at ``key`` or ``spot``, or where the sample set goes on.

    Raises ValueError with a sentence when the key lies outside the compass.
    """
    kinds = tuple(dict.fromkeys("note" if each == "pair" else each for each in measure.spot_kinds)) or ("whole",)
    kind = kind if kind in kinds else kinds[0]
    readings = list(assessment.readings.filter(measure=measure).select_related("measure"))
    newest = sorted((r for r in readings if r.spot_kind == kind), key=lambda r: (r.at, r.pk), reverse=True)
    last = tuple(newest[:LAST_SHOWN])
    ordinary = ordinary_words(measure, assessment.instrument)
    if kind == "note":
        return _notes(assessment, measure, kinds, ordinary, readings, last, which, key, href_for)
    return _places(assessment, kind, kinds, ordinary, readings, last, spot)


def _notes(
    assessment: Assessment,
    measure: Measure,
    kinds: tuple[str, ...],
    ordinary: str,
    readings: list[Reading],
    last: tuple[Reading, ...],
    which: str,
    key: int | None,
    href_for: Callable[[int], str] | None,
) -> Entry:
    instrument = assessment.instrument
    compass = instrument.compass
    if key is not None:
        compass.position(key)
    keys = sample_keys(compass, which)
    read = {r.key: r for r in readings if r.key is not None}
    waiting = [each for each in keys if each not in read]
    if key is None:
        key = next_key(keys, read, last[0].key if last else None)
    missing = sum(bool(r.not_measured_because) for r in read.values())
    progress = f"{len(read) - missing} read, {missing} not measured, {len(waiting)} to go"
    return Entry(
        kind="note",
        kinds=kinds,
        ordinary=ordinary_words(measure, instrument, key) or ordinary,
        key=key,
        key_words=_key_words(assessment, key) if key is not None else "",
        next_key=next_key(keys, {*read, key}, key) if key is not None else None,
        back_key=key_before(keys, key) if key is not None else None,
        reading=read.get(key) if key is not None else None,
        last=last,
        strip=strip_of(instrument, measure, readings, current_key=key, href_for=href_for, progress=progress),
        left=len(waiting),
        read=read,
    )


def _key_words(assessment: Assessment, key: int) -> str:
    compass = assessment.instrument.compass
    words = f"key {compass.position(key)} of {len(compass)}"
    if key == compass.last_wound:
        return f"{words}, last wound string"
    if compass.last_wound is not None and key == compass.last_wound + 1:
        return f"{words}, first plain string"
    if key in compass.bars_above:
        return f"{words}, a bar above"
    return f"{words}, a bar below" if key - 1 in compass.bars_above else words


def _places(
    assessment: Assessment,
    kind: str,
    kinds: tuple[str, ...],
    ordinary: str,
    readings: list[Reading],
    last: tuple[Reading, ...],
    spot: str,
) -> Entry:
    at = {r.spot: r for r in readings if r.spot_kind == kind}
    if kind == "whole":
        return Entry(kind=kind, kinds=kinds, ordinary=ordinary, reading=at.get(""), last=last)
    named = spots_of(kind, assessment.instrument.kind)
    names = [*named, *(name for name in at if name not in named)]
    if spot and spot not in names:
        names.append(spot)
    waiting = [name for name in names if name not in at]
    spot = spot or (waiting[0] if waiting else "")
    later = [name for name in names[names.index(spot) + 1 :] if name not in at] if spot else []
    after = later or [name for name in waiting if name != spot]
    return Entry(
        kind=kind,
        kinds=kinds,
        ordinary=ordinary,
        spot=spot,
        spots=tuple((name, at.get(name)) for name in names),
        next_spot=after[0] if after else "",
        reading=at.get(spot),
        last=last,
        left=len(waiting),
    )

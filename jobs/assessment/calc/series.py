"""Readings of one measure along the compass of one instrument: shares, trend, jumps, outliers, what to read next.

The instrument's own compass counts, 82 to 97 keys, never a fixed 88.
"""

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from statistics import median

from workshop.keyboard.calc.notes import Compass, key_name

# Iglewicz and Hoaglin, How to Detect and Handle Outliers (1993): modified z-score 0.6745·|x − median| / MAD,
# suspect above 3.5. From memory.
MODIFIED_Z, SUSPECT = 0.6745, 3.5
NEIGHBOURS = 4  # readings to each side that a reading is compared with
BASS_BELOW, TREBLE_FROM = 28, 52  # C3 and C5, where the break does not say it; common practice, no source
REGIONS = ("bass", "middle", "treble")


@dataclass(frozen=True)
class Share:
    """How many of the readings of a region lie outside the range."""

    outside: int
    read: int


@dataclass(frozen=True)
class Trend:
    """Change per octave (Theil–Sen slope) and whether it is more than chance (Mann–Kendall, 1 in 20)."""

    per_octave: float
    clear: bool


@dataclass(frozen=True)
class Jump:
    """The step between the readings on the two sides of a break or frame bar; ``below`` is the key left of it."""

    below: int
    at: str
    size: float
    clear: bool


@dataclass(frozen=True)
class ToRead:
    """A note to read next, and why."""

    key: int
    why: str


def coverage(values: Mapping[int, float], compass: Compass) -> float:
    """Return the share of the instrument's notes that were read, 0 to 1."""
    return sum(key in compass for key in values) / len(compass)


def region_of(key: int, compass: Compass) -> str:
    """Return bass, middle or treble. Bass is what is wound, where that is known, else what lies below C3."""
    first_plain = BASS_BELOW if compass.last_wound is None else compass.last_wound + 1
    if key < first_plain:
        return "bass"
    return "treble" if key >= TREBLE_FROM else "middle"


def region_shares(read: Collection[int], outside: Collection[int], compass: Compass) -> dict[str, Share]:
    """Return the share outside the range for each region, in the order of the compass."""
    return {
        region: Share(
            sum(region_of(key, compass) == region for key in outside),
            sum(region_of(key, compass) == region for key in read),
        )
        for region in REGIONS
    }


def outliers(values: Mapping[int, float], compass: Compass, *, least: float = 0.0) -> list[int]:
    """Return keys whose reading departs from its neighbours far more than the others do from theirs.

    Each reading is compared with the robust line through up to four readings to each side, on the same side
    of the break; the departures are judged by the modified z-score. ``least`` is a departure too small to
    matter, in the unit of the readings. Fewer than eight readings say nothing.
    """
    keys = sorted(key for key in values if key in compass)
    if len(keys) < 2 * NEIGHBOURS:
        return []
    departures = {key: values[key] - _expected(key, keys, values, compass) for key in keys}
    middle = median(departures.values())
    spread = median(abs(d - middle) for d in departures.values())
    floor = max(least, 1e-9 * max(abs(v) for v in values.values()))
    found = []
    for key, departure in departures.items():
        away = abs(departure - middle)
        if away > floor and (spread == 0 or MODIFIED_Z * away / spread > SUSPECT):
            found.append(key)
    return found


def trend(values: Mapping[int, float]) -> Trend:
    """Return the trend along the compass: Theil–Sen slope per octave, and the Mann–Kendall test at 5 %.

    Sen (1968), Kendall (1975), with the correction for ties; from memory. Fewer than eight readings show no
    clear trend.
    """
    keys = sorted(values)
    pairs = [(a, b) for i, a in enumerate(keys) for b in keys[i + 1 :]]
    if not pairs:
        return Trend(0.0, False)
    slope = median((values[b] - values[a]) / (b - a) for a, b in pairs)
    score = sum(math.copysign(1, values[b] - values[a]) for a, b in pairs if values[a] != values[b])
    count = len(keys)
    ties = [list(values.values()).count(value) for value in set(values.values())]
    variance = (count * (count - 1) * (2 * count + 5) - sum(t * (t - 1) * (2 * t + 5) for t in ties)) / 18
    clear = count >= 8 and variance > 0 and abs(score) - 1 > 1.96 * math.sqrt(variance)
    return Trend(12 * slope, clear)


def jumps(values: Mapping[int, float], compass: Compass) -> list[Jump]:
    """Return the steps at the break and at the frame bars where there are readings on both sides.

    A step is the difference of the medians of up to three readings within six keys on each side; it is clear
    when it is more than three times the usual step between neighbouring readings. A bar that falls on the
    break is the break.
    """
    edges = {bar: "bar" for bar in compass.bars_above}
    if compass.last_wound is not None:
        edges[compass.last_wound] = "break"
    keys = sorted(key for key in values if key in compass)
    steps = [abs(values[b] - values[a]) for a, b in zip(keys, keys[1:], strict=False) if a not in edges]
    usual = median(steps) if steps else 0.0
    found = []
    for below, at in sorted(edges.items()):
        left = [values[key] for key in keys if below - 6 < key <= below][-3:]
        right = [values[key] for key in keys if below < key <= below + 6][:3]
        if left and right:
            size = median(right) - median(left)
            found.append(Jump(below, at, size, len(keys) >= 8 and abs(size) > 3 * usual and abs(size) > 1e-9))
    return found


def stretch(read: Collection[int], outside: Collection[int]) -> tuple[int, int] | None:
    """Return the first and last key of the stretch that most of the outside readings lie in, or None.

    The stretch is the run of readings with the largest surplus of outside over inside ones; it counts when it
    holds at least four outside readings, three quarters of all outside ones, and is itself three fifths
    outside.
    """
    keys, out = sorted(read), set(outside)
    best, best_ends, score, start = 0, (0, -1), 0, 0
    for place, key in enumerate(keys):
        if score <= 0:
            score, start = 0, place
        score += 1 if key in out else -1
        if score > best:
            best, best_ends = score, (start, place)
    inside_run = keys[best_ends[0] : best_ends[1] + 1]
    hits = sum(key in out for key in inside_run)
    if hits < 4 or hits < 0.75 * len(out) or hits < 0.6 * len(inside_run):
        return None
    return inside_run[0], inside_run[-1]


def read_next(
    values: Mapping[int, float], outside: Collection[int], compass: Compass, *, most: int = 8
) -> list[ToRead]:
    """Return which notes to read next, the most telling first.

    First the ends of the compass and both sides of the break and the bars; then a reading that departs from
    its neighbours, again; then the middle between an ordinary and an outside reading, to find where trouble
    ends; then the middle of the widest gaps.
    """
    wanted: dict[int, str] = {}
    for key, reason in _edges(compass):
        if key not in values:
            wanted.setdefault(key, reason)
    for key in outliers(values, compass):
        wanted.setdefault(key, "departs from its neighbours: read it again")
    for key, reason in _gaps(sorted(values), set(outside)):
        wanted.setdefault(key, reason)
    return [ToRead(key, why) for key, why in list(wanted.items())[:most]]


def _expected(key: int, keys: Sequence[int], values: Mapping[int, float], compass: Compass) -> float:
    """Return where the Theil–Sen line through the neighbours on the same side of the break puts the key."""
    wound = compass.last_wound
    beside = [k for k in keys if wound is None or (k <= wound) == (key <= wound)]
    place = beside.index(key)
    near = [*beside[max(0, place - NEIGHBOURS) : place], *beside[place + 1 : place + 1 + NEIGHBOURS]]
    if len(near) < 3:
        return values[key]
    pairs = [(a, b) for i, a in enumerate(near) for b in near[i + 1 :]]
    slope = median((values[b] - values[a]) / (b - a) for a, b in pairs)
    return median(values[k] + slope * (key - k) for k in near)


def _edges(compass: Compass) -> list[tuple[int, str]]:
    found = []
    if compass.last_wound is not None:
        found += [(compass.last_wound, "last wound note"), (compass.last_wound + 1, "first plain note")]
    for bar in compass.bars_above:
        found += [(bar, "just below a frame bar"), (bar + 1, "just above a frame bar")]
    found += [(compass.first, "lowest note"), (compass.last, "highest note")]
    return [(key, why) for key, why in found if key in compass]


def _gaps(keys: Sequence[int], outside: set[int]) -> list[tuple[int, str]]:
    gaps = [(a, b) for a, b in zip(keys, keys[1:], strict=False) if b - a > 1]
    border = [(a, b) for a, b in gaps if (a in outside) != (b in outside)]
    wide = sorted((gap for gap in gaps if gap not in border and gap[1] - gap[0] > 4), key=lambda g: g[0] - g[1])
    return [
        ((a + b) // 2, f"between {key_name(a)} and {key_name(b)}, where the readings change") for a, b in border
    ] + [((a + b) // 2, f"in the gap between {key_name(a)} and {key_name(b)}") for a, b in wide]

"""One reading for each note of an instrument, judged against its range: what the note strip shows."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from workshop.keyboard.calc.notes import Compass, key_name

State = Literal["in", "out", "worst", "missing"]
Limit = float | None | Sequence[float | None] | Callable[[int], float | None]
MOST_NAMED = 5
UNIT_WORDS = {"g": "grams", "N": "newtons", "N·m": "newton metres"}


@dataclass(frozen=True)
class Dot:
    """The reading of one key; ``value`` is None where the key could not be measured.

    ``label`` is the name written beside a worst dot ("D2 71"), or the reason why a missing one is missing.
    """

    key: int
    value: float | None
    state: State
    label: str = ""


@dataclass(frozen=True)
class Reading:
    """One row of the table beside the drawing, in words."""

    note: str
    value: str
    against: str = ""
    before: str = ""
    change: str = ""


@dataclass(frozen=True)
class Strip:
    """Everything one note strip draws. ``low`` and ``high`` hold one limit a key, lowest key first (None: no limit)."""

    compass: Compass
    title: str
    description: str
    unit: str
    dots: tuple[Dot, ...]
    low: tuple[float | None, ...]
    high: tuple[float | None, ...]
    band_words: str
    range_words: str
    caption: str
    readings: tuple[Reading, ...]
    worst: tuple[int, ...] = ()
    before: tuple[Dot, ...] = ()
    current_key: int | None = None
    joined: bool = False
    jump: str = ""
    short: bool = False
    heads: tuple[str, ...] = ()
    in_words: str = "in range"
    out_words: str = "out of range"
    missing_words: str = "not measured"
    href_for: Callable[[int], str] | None = None
    unit_words: str = ""
    figures: tuple[tuple[float, str], ...] = ()  # words of the scale instead of its figures ("yes" for 1)

    def limits(self, key: int) -> tuple[float | None, float | None]:
        """Return the lower and upper limit for one key."""
        place = self.compass.position(key) - 1
        return self.low[place], self.high[place]


def number_words(value: float, decimals: int | None = None) -> str:
    """Return a number as written on the strip: a true minus, no more decimals than it needs (at most 2)."""
    if decimals is None:
        text = f"{value:.2f}".rstrip("0").rstrip(".")
        text = "0" if text in {"-0", ""} else text
    else:
        text = f"{value:.{decimals}f}"
    return text.replace("-", "−")


def limits_of(compass: Compass, limit: Limit) -> tuple[float | None, ...]:
    """Return one limit a key from a number, None, a sequence in key order, or a function of the key.

    Raises ValueError when a sequence does not have one limit for each key.
    """
    if limit is None or isinstance(limit, int | float):
        return (limit,) * len(compass)
    if callable(limit):
        return tuple(limit(key) for key in compass)
    limits = tuple(limit)
    if len(limits) != len(compass):
        raise ValueError(f"{len(limits)} limits were given for {len(compass)} keys; give one for each key.")
    return limits


def excess(value: float, low: float | None, high: float | None) -> float:
    """Return how far outside its range a value is: over is positive, under negative, inside 0."""
    if high is not None and value > high:
        return value - high
    if low is not None and value < low:
        return value - low
    return 0.0


def worst_keys(beyond: Mapping[int, float], most: int = MOST_NAMED) -> tuple[int, ...]:
    """Return the keys to name, worst first; the worst of the other side comes second if there is one."""
    ranked = sorted((key for key in beyond if beyond[key]), key=lambda key: (-abs(beyond[key]), key))
    if not ranked:
        return ()
    other = next((key for key in ranked if beyond[key] * beyond[ranked[0]] < 0), None)
    if other is not None:
        ranked = [ranked[0], other, *(key for key in ranked[1:] if key != other)]
    return tuple(ranked[:most])


def range_words(low: float | None, high: float | None, unit: str) -> str:
    """Return a range in words: "46–54 g", "at least 20 g", "at most 0.5 mm", or "" without limits."""
    if low is not None and high is not None:
        joint = " to " if low < 0 else "–"
        return f"{number_words(low)}{joint}{number_words(high)} {unit}".strip()
    if low is not None:
        return f"at least {number_words(low)} {unit}".strip()
    if high is not None:
        return f"at most {number_words(high)} {unit}".strip()
    return ""


def usual(limits: Sequence[float | None]) -> float | None:
    """Return the limit that holds for most keys (of equals the highest keys' one), or None."""
    given = [limit for limit in limits if limit is not None]
    if not given:
        return None
    return max(reversed(given), key=given.count)


def names_words(names: Sequence[str], most: int = 5) -> str:
    """Return note names as a list in words, cut after ``most`` ("B4, G7 and 8 more")."""
    if len(names) > most:
        return f"{', '.join(names[:most])} and {len(names) - most} more"
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def _side_words(strip: Strip, beyond: Mapping[int, float], values: Mapping[int, float], over: bool) -> str:
    keys = [key for key, much in beyond.items() if (much > 0 if over else much < 0)]
    if not keys:
        return ""
    limit = usual(strip.high if over else strip.low)
    limits = set(strip.high if over else strip.low)
    against = f"{number_words(limit)} {strip.unit}".strip() if limit is not None and len(limits) == 1 else "the range"
    far = max(keys, key=lambda key: abs(beyond[key]))
    verb = "is" if len(keys) == 1 else "are"
    superlative = "furthest" if against == "the range" else "highest" if over else "lowest"
    return (
        f" {len(keys)} {verb} {'over' if over else 'under'} {against}, the {superlative} {key_name(far)} at "
        f"{number_words(values[far])} {strip.unit}".rstrip()
        + "."
    )


def describe(strip: Strip) -> str:
    """Return in two or three sentences what the drawing shows, for those who cannot see it."""
    values = {dot.key: dot.value for dot in strip.dots if dot.value is not None}
    beyond = {key: excess(value, *strip.limits(key)) for key, value in values.items()}
    text = f"{len(values)} of {len(strip.compass)} notes {'read again' if strip.before else 'read'}."
    if values and not any(beyond.values()) and strip.range_words:
        text += (
            f" All are in the range, {strip.range_words}."
            if len(set(strip.low + strip.high)) <= 2
            else " All are in range."
        )
    text += _side_words(strip, beyond, values, over=True) + _side_words(strip, beyond, values, over=False)
    if strip.before:
        was = {dot.key: dot.value for dot in strip.before if dot.value is not None}
        better = sum(excess(value, *strip.limits(key)) == 0 for key, value in was.items())
        text += f" Before, {better} of {len(was)} were in range."
    missing = [key_name(dot.key) for dot in strip.dots if dot.state == "missing"]
    if missing:
        text += f" {names_words(missing)} {strip.missing_words}."
    if strip.jump:
        text += f" At the break: {strip.jump}."
    if strip.current_key is not None:
        text += f" The key for {key_name(strip.current_key)} is in hand and shown in green."
    return text


def _decimals(values: Sequence[float]) -> int:
    return max((len(f"{value:.2f}".rstrip("0").split(".")[1]) for value in values), default=0)


def _dots(
    compass: Compass,
    values: Mapping[int, float | None],
    low: Sequence[float | None],
    high: Sequence[float | None],
    reasons: Mapping[int, str],
    named: int,
) -> tuple[tuple[Dot, ...], tuple[int, ...]]:
    read = {key: value for key, value in values.items() if value is not None}
    beyond = {key: excess(read[key], low[compass.position(key) - 1], high[compass.position(key) - 1]) for key in read}
    worst = worst_keys(beyond, named)
    dots = []
    for key in sorted(values):
        value = values[key]
        if value is None:
            dots.append(Dot(key, None, "missing", reasons.get(key, "")))
        elif key in worst:
            dots.append(Dot(key, value, "worst", f"{key_name(key)} {number_words(value)}"))
        else:
            dots.append(Dot(key, value, "out" if beyond[key] else "in"))
    return tuple(dots), worst


def make_strip(
    compass: Compass,
    values: Mapping[int, float | None],
    low: Limit,
    high: Limit,
    unit: str,
    title: str,
    *,
    before: Mapping[int, float | None] | None = None,
    reasons: Mapping[int, str] | None = None,
    band_words: str = "ordinary",
    caption: str = "",
    description: str = "",
    current_key: int | None = None,
    joined: bool = False,
    jump: str = "",
    short: bool = False,
    named: int = MOST_NAMED,
    in_words: str = "in range",
    out_words: str = "out of range",
    missing_words: str = "not measured",
    href_for: Callable[[int], str] | None = None,
    unit_words: str = "",
) -> Strip:
    """Return the strip for ``values``: key number -> reading in ``unit``, None where it could not be measured.

    A key that is absent from ``values`` has not come up yet and is not drawn. ``low`` and ``high`` are the range:
    a number, None, one limit for each key in order, or a function of the key. ``before`` are earlier readings
    of the same kind, ``reasons`` say why a key is not measured. ``named`` (0 to 5) worst readings get their words.
    Raises ValueError for a key outside the compass.
    """
    for key in (*values, *(before or {}), *([current_key] if current_key is not None else [])):
        compass.position(key)
    lows, highs = limits_of(compass, low), limits_of(compass, high)
    dots, worst = _dots(compass, values, lows, highs, reasons or {}, min(named, MOST_NAMED))
    draft = Strip(
        compass=compass,
        title=title,
        description="",
        unit=unit,
        dots=dots,
        low=lows,
        high=highs,
        band_words=band_words,
        range_words=range_words(usual(lows), usual(highs), unit),
        caption=caption or title,
        readings=(),
        worst=worst,
        before=_dots(compass, before or {}, lows, highs, {}, 0)[0],
        current_key=current_key,
        joined=joined,
        jump=jump,
        short=short,
        in_words=in_words,
        out_words=out_words,
        missing_words=missing_words,
        href_for=href_for,
        unit_words=unit_words or UNIT_WORDS.get(unit, unit),
    )
    return _with_words(draft, description)


def _with_words(draft: Strip, description: str) -> Strip:
    head = f", {draft.unit}" if draft.unit else ""
    if draft.before:
        heads: tuple[str, ...] = ("Note", f"Before{head}", f"After{head}", "Change")
    else:
        heads = ("Note", f"Reading{head}", f"Against {draft.range_words or 'the range'}")
    return replace(draft, description=description or describe(draft), heads=heads, readings=_readings(draft))


def _against(strip: Strip, dot: Dot) -> str:
    low, high = strip.limits(dot.key)
    if dot.value is None or (low is None and high is None):
        return dot.label if dot.value is None else ""
    much = excess(dot.value, low, high)
    return "over" if much > 0 else "under" if much < 0 else strip.in_words


def _readings(strip: Strip) -> tuple[Reading, ...]:
    was = {dot.key: dot.value for dot in strip.before}
    now = {dot.key: dot for dot in strip.dots}
    known = [value for value in (*was.values(), *(dot.value for dot in strip.dots)) if value is not None]
    decimals = _decimals(known)
    rows = []
    for key in sorted({*was, *now}):
        dot = now.get(key)
        old = was.get(key)
        value, change = "not yet", ""
        if dot is not None:
            value = strip.missing_words if dot.value is None else number_words(dot.value, decimals)
            if dot.value is not None and old is not None:
                change = ("+" if dot.value > old else "") + number_words(dot.value - old, decimals)
        before = "" if key not in was else strip.missing_words if old is None else number_words(old, decimals)
        rows.append(Reading(key_name(key), value, _against(strip, dot) if dot else "", before, change))
    return tuple(rows)

"""The owner's sentences: places, counts and values in words, and blanks filled in."""

import re
from collections.abc import Collection, Mapping, Sequence

from jobs.assessment.calc.findings.records import Measure, Reading
from jobs.assessment.calc.series import region_shares, stretch
from workshop.keyboard.calc.notes import Compass, key_name

FEW = 6  # notes that are named one by one
NEARLY_ALL = 0.9  # share of the compass read from which a count is told of the whole instrument
ONE_A_NOTE = {"keys", "hammers", "notes"}
_UNITS = {
    "g": "{} g", "mm": "{} mm", "deg": "{}°", "N.m": "{} N·m", "cent": "{} cents", "s": "{} seconds",
    "degC": "{} °C", "%RH": "{} %", "%": "{} %", "count": "{}", "swing": "{} swings",
    "note/s": "{} notes a second", "share": "{} of the hammer’s way", "key": "key {}",
}  # fmt: skip
_ONE = {"cent": "cent", "s": "second", "swing": "swing"}
_COUNT = re.compile(r"{count ([a-z]+)}")
_BY_COUNT = re.compile(r"\[([^|\]]*)\|([^\]]*)\]")


def number_words(value: float) -> str:
    """Return a number without needless digits: 54, 1.25, 3.4."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text.replace("-", "−")


def value_words(value: float, measure: Measure) -> str:
    """Return a value with its unit: "54 g"; a grade by its word: "crazed"."""
    if measure.value_kind == "grade" and 0 <= int(value) < len(measure.grade_words):
        return measure.grade_words[int(value)]
    if abs(value) == 1 and measure.unit in ("cent", "s", "swing"):
        return f"{number_words(value)} {_ONE[measure.unit]}"
    return _UNITS.get(measure.unit, "{} " + measure.unit).format(number_words(value))


def range_words(low: float | None, high: float | None, measure: Measure) -> str:
    """Return a range in words: "46 to 54 g", "up to 2 mm", "at least 20 g"."""
    if high == 0:
        return "none"
    if not low:
        return f"up to {value_words(high, measure)}" if high is not None else "anything"
    if high is None:
        return f"at least {value_words(low, measure)}"
    if low == high:
        return f"about {value_words(high, measure)}"
    return f"{number_words(low)} to {value_words(high, measure)}"


def listing(words: Sequence[str], most: int = FEW) -> str:
    """Return words as a list in a sentence: "C3, D3 and E3", "C3, D3 and 5 more"."""
    if len(words) > most:
        return f"{', '.join(words[: most - 1])} and {len(words) - most + 1} more"
    return " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else "".join(words)


def place_words(readings: Sequence[Reading]) -> str:
    """Return where single readings were taken, with a blank before it; empty for the whole instrument."""
    panels = [r.spot for r in readings if r.spot_kind == "panel" and r.spot]
    sections = [r.spot for r in readings if r.spot_kind == "section" and r.spot]
    notes = [key_name(r.key) for r in readings if r.key is not None]
    said = [
        words
        for words in (
            f"at {listing(notes)}" if notes else "",
            f"in the {listing(sections)}" if sections else "",
            f"on the {listing(panels)}" if panels else "",
        )
        if words
    ]
    return f" {', '.join(said)}" if said else ""


def along_words(read: Collection[int], outside: Collection[int], compass: Compass) -> str:
    """Return where along the compass the outside readings lie, with a blank before it."""
    if not outside:
        return ""
    if len(outside) > FEW and len(outside) >= 0.8 * len(read):
        return " all along the keyboard"
    ends = stretch(read, outside)
    if ends and len(outside) > 3:
        return _stretch_words(ends, read)
    if len(outside) <= FEW:
        return f" at {listing([key_name(key) for key in sorted(outside)])}"
    for region, share in region_shares(read, outside, compass).items():
        if share.outside >= 0.6 * len(outside):
            return f", mostly in the {region}"
    return " here and there"


def count_words(count: int, read: int, compass: Compass, noun: str) -> str:
    """Return how many: "40 of 85 keys", or "12 of the 19 keys read" when only some were read."""
    if noun in ONE_A_NOTE and read >= NEARLY_ALL * len(compass):
        return f"{count} of {len(compass)} {noun}"
    return f"{count} of the {read} {noun} read"


def filled(template: str, blanks: Mapping[str, str], *, count: int = 1, of: int = 1, compass: Compass) -> str:
    """Return a sentence with its blanks filled in; ``count`` chooses between [one|many]."""
    text = _BY_COUNT.sub(lambda m: m.group(1) if count == 1 else m.group(2), template)
    text = _COUNT.sub(lambda m: count_words(count, of, compass, m.group(1)), text)
    for name, words in blanks.items():
        text = text.replace("{" + name + "}", words)
    return text[:1].upper() + text[1:]


def head(template: str) -> str:
    """Return the part of a sentence before its colon, without full stop."""
    return template.split(": ", 1)[0].rstrip(".") if "{count" in template or "{value" in template else template


def _stretch_words(ends: tuple[int, int], read: Collection[int]) -> str:
    first, last = ends
    lowest, highest = min(read), max(read)
    if first == lowest and last == highest:
        return " nearly all along the keyboard"
    if first == lowest:
        return f" from the bottom to about {key_name(last)}"
    if last == highest:
        return f" from about {key_name(first)} to the top"
    return f" from about {key_name(first)} to about {key_name(last)}"

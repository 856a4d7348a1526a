"""The note strip as shapes: keys above, readings under their keys, the range as a band.

``strip_layout`` returns shapes only; they become SVG on a page and lines on paper. Names never overprint:
each asks for a free place, and one that finds none is left to the table.
"""

from dataclasses import replace

from workshop.keyboard.calc.geometry import gap_above, key_shapes
from workshop.keyboard.calc.marks import put_jump, put_missing, put_readings, put_worst
from workshop.keyboard.calc.notes import key_name
from workshop.keyboard.calc.scale import plot_scale
from workshop.keyboard.calc.shapes import (
    Box,
    Line,
    Words,
    first_free,
    rectangle,
    words_box,
)
from workshop.keyboard.calc.sheet import FRAMES, SHORT_PLOT, Layout, Sheet, Tap
from workshop.keyboard.calc.strip import Strip, number_words, usual


def strip_layout(strip: Strip, width: str = "wide") -> Layout:
    """Return the drawing of a strip in one of three widths: wide (1080 units), mid (760) or narrow (360).

    Raises KeyError for another width.
    """
    frame = FRAMES[width]
    if strip.short:
        frame = replace(frame, plot=round(frame.plot * SHORT_PLOT))
    known = [dot.value for dot in (*strip.dots, *strip.before) if dot.value is not None]
    limits = [limit for limit in (usual(strip.low), usual(strip.high)) if limit is not None]
    bends = [limit for limit in (*strip.low, *strip.high) if limit is not None]
    reach = plot_scale([*known, *bends], limits, apart=1.15 * frame.size / frame.plot)
    sheet = Sheet(strip, frame, key_shapes(strip.compass, frame.left, frame.right - frame.left), reach)
    _band(sheet)
    _figures(sheet, limits)
    _keyboard(sheet)
    _names(sheet)
    _iron(sheet)
    put_readings(sheet)
    put_missing(sheet)
    put_jump(sheet)
    put_worst(sheet)
    return Layout(frame.width, frame.height, tuple(sheet.shapes), _taps(sheet))


def _band(sheet: Sheet) -> None:
    strip, frame = sheet.strip, sheet.frame
    if not strip.range_words:
        return
    xs = [frame.left, *(key.middle for key in sheet.keys[1:-1]), frame.right]
    highs = [frame.top if limit is None else sheet.height_of(limit) for limit in strip.high]
    lows = [frame.foot if limit is None else sheet.height_of(limit) for limit in strip.low]
    if len(set(highs)) == 1 and len(set(lows)) == 1:
        xs, highs, lows = [xs[0], xs[-1]], highs[:2], lows[:2]
    upper = tuple(zip(xs, highs, strict=True))
    lower = tuple(zip(xs, lows, strict=True))
    sheet.shapes.append(Line("band", upper + tuple(reversed(lower)), closed=True))
    if usual(strip.high) is not None:
        sheet.shapes.append(Line("edge", upper))
    if usual(strip.low) is not None:
        sheet.shapes.append(Line("edge", lower))
    if frame.side_words:
        lines = _wrapped(strip.band_words) + _wrapped(strip.range_words)
        first = (highs[-1] + lows[-1]) / 2 - 15 * (len(lines) - 1) / 2 + 4
        first = min(max(first, frame.top + 8), frame.foot - 15 * (len(lines) - 1))
        for place, text in enumerate(lines):
            sheet.shapes.append(Words("", frame.right + 8, first + 15 * place, text))


def _wrapped(text: str, letters: int = 11) -> list[str]:
    """Return a text in lines of about so many letters, cut between words."""
    lines: list[str] = []
    for word in text.split():
        if lines and len(lines[-1]) + 1 + len(word) <= letters:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


def _figures(sheet: Sheet, limits: list[float]) -> None:
    frame = sheet.frame
    apart = frame.size * 0.95
    named = dict(sheet.strip.figures)
    at = {figure: sheet.height_of(figure) for figure in named or sheet.scale.figures}
    for figure in at:
        if figure not in limits:
            sheet.shapes.append(Line("grid", ((frame.left, at[figure]), (frame.right, at[figure]))))
    if len(limits) == 2 and limits[0] != limits[1] and at[limits[0]] - at[limits[1]] < apart:
        push = (apart - (at[limits[0]] - at[limits[1]])) / 2
        at[limits[0]] += push
        at[limits[1]] -= push
    for figure, y in at.items():
        sheet.shapes.append(
            Words(
                "scale", frame.left - 7, y + 0.35 * 0.8 * frame.size, named.get(figure) or number_words(figure), "end"
            )
        )


def _keyboard(sheet: Sheet) -> None:
    frame = sheet.frame
    bottom = 1 + frame.keys
    current = sheet.strip.current_key
    sheet.shapes.append(rectangle("nat", frame.left, 1, frame.right, bottom))
    naturals = [key for key in sheet.keys if not key.sharp]
    for key in naturals:
        if key.key == current:
            sheet.shapes.append(rectangle("cur", key.left, 1, key.right, bottom))
    for key in naturals[1:]:
        sheet.shapes.append(Line("edge", ((key.left, 1), (key.left, bottom))))
    for key in sheet.keys:
        if key.sharp:
            look = "cur" if key.key == current else "shp"
            sheet.shapes.append(rectangle(look, key.left, 1, key.right, 1 + frame.sharps))


def _names(sheet: Sheet) -> None:
    frame, compass = sheet.frame, sheet.strip.compass
    within = Box(0, 0, frame.width + frame.size, frame.top)
    apart = 0.3 * frame.size
    ends = [compass.first, compass.last]
    for key in [*ends, *(key for key in compass if key_name(key)[:-1] == "C" and key not in ends)]:
        words = Words("name", sheet.middle(key), frame.names, key_name(key), "middle")
        found = first_free([words], sheet.taken, within, frame.size)
        if found:
            sheet.shapes.append(words)
            sheet.taken.append(found[1].wider(apart))


def _iron(sheet: Sheet) -> None:
    """Draw the axis, the frame bars, the break and the key in hand."""
    strip, frame = sheet.strip, sheet.frame
    at_foot = frame.foot + frame.under - 3
    sheet.shapes.append(Line("ax", ((frame.left, frame.foot), (frame.right, frame.foot))))
    foot_words: list[Words] = []
    gap = gap_above(sheet.keys, strip.compass.last_wound) if strip.compass.last_wound is not None else None
    if gap is not None:
        sheet.upright("brk", gap, sheet.below_names(gap), at_foot + 1)
        foot_words += [
            Words("foot", gap - 6, at_foot, "wound", "end"),
            Words("foot", gap + 6, at_foot, "plain"),
        ]
    for key in strip.compass.bars_above:
        bar = gap_above(sheet.keys, key)
        if bar is None or key == strip.compass.last_wound:
            continue
        sheet.upright("iron", bar - 1.5, frame.top, frame.foot)
        sheet.upright("iron", bar + 1.5, frame.top, frame.foot)
        if frame.side_words:
            foot_words.append(Words("foot", bar, at_foot, "bar", "middle"))
    within = Box(0, frame.foot, frame.width, frame.height + frame.size)
    for words in foot_words:
        found = first_free([words], sheet.taken, within, frame.size)
        if found:
            sheet.shapes.append(words)
            sheet.taken.append(found[1])
    if strip.current_key is not None:
        x = sheet.middle(strip.current_key)
        sheet.upright("next", x, sheet.below_names(x), frame.foot)


def _taps(sheet: Sheet) -> tuple[Tap, ...]:
    """Return the pressable ground of every key: naturals first, sharps over them, each down to the axis."""
    if sheet.strip.href_for is None:
        return ()
    frame = sheet.frame
    taps = []
    for place, key in enumerate(sheet.keys):
        left = frame.left if place == 0 else (sheet.keys[place - 1].middle + key.middle) / 2
        right = frame.right if place + 1 == len(sheet.keys) else (sheet.keys[place + 1].middle + key.middle) / 2
        taps.append(Tap(key.key, left, 1, right, frame.foot))
    return tuple(taps)


def label_boxes(layout: Layout, size: float) -> list[Box]:
    """Return the places of all words of a drawing lettered in ``size``; red names are bold."""
    return [words_box(shape, size, shape.look == "bad") for shape in layout.shapes if isinstance(shape, Words)]

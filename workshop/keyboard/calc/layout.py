"""The note strip as shapes: keys above, readings under their keys, the range as a band.

``strip_layout`` returns shapes only; they become SVG on a page and lines on paper. Names never overprint:
each asks for a free place, and one that finds none is left to the table.
"""

from dataclasses import dataclass, field, replace

from workshop.keyboard.calc.geometry import KeyShape, gap_above, key_shapes
from workshop.keyboard.calc.notes import key_name
from workshop.keyboard.calc.scale import PlotScale, plot_scale
from workshop.keyboard.calc.shapes import (
    Box,
    Circle,
    Line,
    Shape,
    Words,
    first_free,
    lozenge,
    rectangle,
    words_box,
)
from workshop.keyboard.calc.strip import Dot, Strip, number_words, usual


@dataclass(frozen=True)
class Frame:
    """The measures of one drawing, in its own units. ``size`` is the largest lettering the page may use in it."""

    width: float
    left: float
    right: float
    keys: float
    sharps: float
    names: float
    top: float
    plot: float
    under: float
    dot: float
    size: float
    named: int
    side_words: bool

    @property
    def foot(self) -> float:
        """The axis under the plot."""
        return self.top + self.plot

    @property
    def height(self) -> float:
        """The whole drawing."""
        return self.foot + self.under


FRAMES = {
    "wide": Frame(1080, 48, 996, 58, 36, 76, 84, 132, 35, 2.7, 15.5, 5, side_words=True),
    "mid": Frame(760, 36, 676, 50, 31, 66, 74, 118, 33, 2.7, 14, 5, side_words=True),
    "narrow": Frame(360, 28, 358, 34, 21, 46.5, 52, 96, 27, 1.7, 10.5, 2, side_words=False),
}
SHORT_PLOT = 0.6  # of the usual height, for the bench


@dataclass(frozen=True)
class Tap:
    """The ground of one key that can be pressed, from the key down to the axis."""

    key: int
    left: float
    top: float
    right: float
    bottom: float


@dataclass(frozen=True)
class Layout:
    """A finished drawing: its size, its shapes from back to front, and the keys that can be pressed."""

    width: float
    height: float
    shapes: tuple[Shape, ...]
    taps: tuple[Tap, ...]


@dataclass
class _Sheet:
    """The drawing while it is being made."""

    strip: Strip
    frame: Frame
    keys: tuple[KeyShape, ...]
    scale: PlotScale
    shapes: list[Shape] = field(default_factory=list)
    taken: list[Box] = field(default_factory=list)

    def middle(self, key: int) -> float:
        return self.keys[self.strip.compass.position(key) - 1].middle

    def height_of(self, value: float) -> float:
        part = min(1.0, max(0.0, self.scale.part(value)))
        return self.frame.foot - part * self.frame.plot

    def upright(self, look: str, x: float, top: float, bottom: float) -> None:
        self.shapes.append(Line(look, ((x, top), (x, bottom))))
        self.taken.append(Box(x - 1, top, x + 1, bottom))

    def below_names(self, x: float) -> float:
        """Return where a line from the keys may begin so that it does not strike a note name."""
        near = Box(x - 1.5, self.frame.keys + 1, x + 1.5, self.frame.top)
        return self.frame.top if any(box.hits(near) for box in self.taken) else self.frame.keys + 1


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
    sheet = _Sheet(strip, frame, key_shapes(strip.compass, frame.left, frame.right - frame.left), reach)
    _band(sheet)
    _figures(sheet, limits)
    _keyboard(sheet)
    _names(sheet)
    _iron(sheet)
    _readings(sheet)
    _missing(sheet)
    _jump(sheet)
    _worst(sheet)
    return Layout(frame.width, frame.height, tuple(sheet.shapes), _taps(sheet))


def _band(sheet: _Sheet) -> None:
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


def _figures(sheet: _Sheet, limits: list[float]) -> None:
    frame = sheet.frame
    apart = frame.size * 0.95
    at = {figure: sheet.height_of(figure) for figure in sheet.scale.figures}
    for figure in sheet.scale.figures:
        if figure not in limits:
            sheet.shapes.append(Line("grid", ((frame.left, at[figure]), (frame.right, at[figure]))))
    if len(limits) == 2 and limits[0] != limits[1] and at[limits[0]] - at[limits[1]] < apart:
        push = (apart - (at[limits[0]] - at[limits[1]])) / 2
        at[limits[0]] += push
        at[limits[1]] -= push
    for figure, y in at.items():
        sheet.shapes.append(
            Words("scale", frame.left - 7, y + 0.35 * 0.8 * frame.size, number_words(figure), "end")
        )


def _keyboard(sheet: _Sheet) -> None:
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


def _names(sheet: _Sheet) -> None:
    frame, compass = sheet.frame, sheet.strip.compass
    within = Box(0, 0, frame.width, frame.top)
    ends = [compass.first, compass.last]
    for key in [*ends, *(key for key in compass if key_name(key)[:-1] == "C" and key not in ends)]:
        words = Words("name", sheet.middle(key), frame.names, key_name(key), "middle")
        found = first_free([words], sheet.taken, within, frame.size)
        if found:
            sheet.shapes.append(words)
            sheet.taken.append(found[1])


def _iron(sheet: _Sheet) -> None:
    """Draw the axis, the frame bars, the break and the key in hand."""
    strip, frame = sheet.strip, sheet.frame
    at_foot = frame.foot + frame.under - 3
    sheet.shapes.append(Line("ax", ((frame.left, frame.foot), (frame.right, frame.foot))))
    foot_words: list[Words] = []
    gap = gap_above(sheet.keys, strip.compass.last_wound) if strip.compass.last_wound is not None else None
    if gap is not None:
        sheet.upright("brk", gap, frame.keys + 4, at_foot + 1)
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


def _joins(sheet: _Sheet) -> None:
    """Join the dots of neighbouring keys; the join is cut at the break and where a key has no reading."""
    run: list[tuple[float, float]] = []
    previous: int | None = None
    last_wound = sheet.strip.compass.last_wound
    for dot in [*sheet.strip.dots, Dot(999, None, "missing")]:
        broken = previous is None or dot.key != previous + 1 or previous == last_wound or dot.value is None
        if broken:
            if len(run) > 1:
                sheet.shapes.append(Line("move", tuple(run)))
            run = []
        if dot.value is not None:
            run.append((sheet.middle(dot.key), sheet.height_of(dot.value)))
        previous = dot.key


def _readings(sheet: _Sheet) -> None:
    strip, frame = sheet.strip, sheet.frame
    now = {dot.key: dot for dot in strip.dots}
    for dot in strip.before:
        after = now.get(dot.key)
        if dot.value is not None and after is not None and after.value is not None:
            x = sheet.middle(dot.key)
            sheet.shapes.append(
                Line("move", ((x, sheet.height_of(dot.value)), (x, sheet.height_of(after.value))))
            )
    if strip.joined:
        _joins(sheet)
    for look, dots in (("before", strip.before), ("", strip.dots)):
        for dot in dots:
            if dot.value is None or dot.state == "worst":
                continue
            x, y = sheet.middle(dot.key), sheet.height_of(dot.value)
            if look or dot.state == "in":
                sheet.shapes.append(Circle(look or "pt", x, y, frame.dot))
            else:
                sheet.shapes.append(lozenge("off", x, y, frame.dot * 1.5))
            reach = frame.dot * 1.5
            sheet.taken.append(Box(x - reach, y - reach, x + reach, y + reach))


def _missing(sheet: _Sheet) -> None:
    half = sheet.frame.dot * 0.75
    top, bottom = sheet.frame.foot + 1, sheet.frame.foot + 1 + 2.6 * sheet.frame.dot
    for dot in sheet.strip.dots:
        if dot.state == "missing":
            x = sheet.middle(dot.key)
            sheet.shapes.append(
                Line("miss", ((x - half, top), (x - half, bottom), (x + half, bottom), (x + half, top)))
            )


def _jump(sheet: _Sheet) -> None:
    strip, frame = sheet.strip, sheet.frame
    wound = strip.compass.last_wound
    values = {dot.key: dot.value for dot in strip.dots}
    if not strip.jump or wound is None:
        return
    x, below, above = gap_above(sheet.keys, wound), values.get(wound), values.get(wound + 1)
    if x is None or below is None or above is None:
        return
    y1, y2 = sheet.height_of(below), sheet.height_of(above)
    for points in (((x - 5, y1), (x + 5, y1)), ((x, y1), (x, y2)), ((x - 5, y2), (x + 5, y2))):
        sheet.shapes.append(Line("jump", points))
    sheet.taken.append(Box(x - 6, min(y1, y2) - 1, x + 6, max(y1, y2) + 1))
    middle = (y1 + y2) / 2 + 4
    steps = [0.0]
    for step in range(1, 14):
        steps += [step * 5.0, step * -5.0]
    candidates = [
        Words("bad", x + 11 if anchor == "start" else x - 11, middle + step, strip.jump, anchor)
        for step in steps
        for anchor in ("start", "end")
    ]
    _place(sheet, candidates)


def _place(sheet: _Sheet, candidates: list[Words]) -> None:
    frame = sheet.frame
    within = Box(frame.left, frame.top - 4, frame.right + 2, frame.foot)
    found = first_free(candidates, sheet.taken, within, frame.size, bold=True)
    if found:
        sheet.shapes.append(found[0])
        sheet.taken.append(found[1])


def _worst(sheet: _Sheet) -> None:
    """Draw the worst readings in red with a line up to the key; name as many as find a free place."""
    frame = sheet.frame
    half = frame.dot * 1.5
    dots = {dot.key: dot for dot in sheet.strip.dots if dot.state == "worst"}
    marks = []
    for place, key in enumerate(sheet.strip.worst):
        value = dots[key].value
        if value is None:
            continue
        x, y = sheet.middle(key), sheet.height_of(value)
        if place >= frame.named:
            sheet.shapes.append(lozenge("off", x, y, half))
            sheet.taken.append(Box(x - half, y - half, x + half, y + half))
        else:
            marks.append((x, y, dots[key].label))
    for x, y, _ in marks:
        sheet.upright("lead", x, sheet.below_names(x), y - half)
    for x, y, _ in marks:
        sheet.shapes.append(lozenge("out", x, y, half))
        sheet.taken.append(Box(x - half, y - half, x + half, y + half))
    for x, y, label in marks:
        base, side = y + 0.35 * frame.size, half + 3
        rises = [0.0]
        while base - rises[-1] > frame.top:
            rises.append(rises[-1] + frame.size / 3)
        _place(
            sheet,
            [
                Words("bad", x + side if anchor == "start" else x - side, base - rise, label, anchor)
                for rise in rises
                for anchor in ("start", "end")
            ],
        )


def _taps(sheet: _Sheet) -> tuple[Tap, ...]:
    """Return the pressable ground of every key: naturals first, sharps over them, each down to the axis."""
    if sheet.strip.href_for is None:
        return ()
    frame = sheet.frame
    taps = []
    for place, key in enumerate(sheet.keys):
        left = frame.left if place == 0 else (sheet.keys[place - 1].middle + key.middle) / 2
        right = (
            frame.right if place + 1 == len(sheet.keys) else (sheet.keys[place + 1].middle + key.middle) / 2
        )
        taps.append(Tap(key.key, left, 1, right, frame.foot))
    return tuple(taps)


def label_boxes(layout: Layout, size: float) -> list[Box]:
    """Return the places of all words of a drawing lettered in ``size``; red names are bold."""
    return [
        words_box(shape, size, shape.look == "bad") for shape in layout.shapes if isinstance(shape, Words)
    ]

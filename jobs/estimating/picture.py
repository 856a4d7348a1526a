"""A small picture of logs: hours over time against the norm and the figures. Coordinates only; a template draws."""

from collections.abc import Sequence
from dataclasses import dataclass

HEIGHT = 190
WIDE, NARROW = 640, 360  # of the two drawings; the width of the page decides which is shown
RIGHT_WIDE, RIGHT_NARROW = 118, 96  # room for the names of the lines
LEFT, TOP, FOOT = 40, 14, 24  # room for the scale, for what lies above it, for the days
APART = 18  # least distance between two names
MOST = 60  # logs drawn, the newest
SMALL_WIDE, SMALL_HIGH, SMALL_EDGE = 240, 44, 6  # of the small picture beside a sentence
SMALL_MOST = 30  # logs drawn in it, the newest


@dataclass(frozen=True)
class Spot:
    """One log: its place, what to say about it, and how it is drawn: "" counts, "doubt" far off, "apart" left out."""

    x: float
    y: float
    words: str
    look: str


@dataclass(frozen=True)
class Line:
    """One line across: its height, where its name stands, and the name."""

    y: float
    text_y: float
    words: str
    name: str


@dataclass(frozen=True)
class Picture:
    """What the template draws; ``band`` is y and height of the stretch between likely and 8 in 10."""

    spots: tuple[Spot, ...]
    lines: tuple[Line, ...]
    ticks: tuple[tuple[float, str], ...]
    band: tuple[float, float]
    words: str
    first: str
    last: str
    width: int
    right: int
    height: int = HEIGHT
    left: int = LEFT

    @property
    def span(self) -> int:
        """Return the width of the plot."""
        return self.right - self.left

    @property
    def look(self) -> str:
        """Return which of the two drawings this is."""
        return "wide" if self.width == WIDE else "narrow"


@dataclass(frozen=True)
class Dot:
    """A log to draw, oldest first: hours of one unit, day in words, how it is drawn."""

    hours: float
    day: str
    words: str
    look: str


def pictures_of(dots: Sequence[Dot], *, norm: float, likely: float, figure_80: float) -> tuple[Picture, Picture]:
    """Return the wide and the narrow picture of logs (oldest first) with norm, likely and 8-in-10 figure, in hours."""
    lines = [("norm", norm), ("likely", likely), ("8 in 10", figure_80)]
    return (
        _picture(list(dots)[-MOST:], lines, WIDE, WIDE - RIGHT_WIDE),
        _picture(list(dots)[-MOST // 2 :], lines, NARROW, NARROW - RIGHT_NARROW),
    )


@dataclass(frozen=True)
class SmallPicture:
    """Logs along a line of hours, oldest above: places of dots, norm, band from likely to 8 in 10, and the ends.

    ``from_words`` and ``to_words`` name both ends of the line; ``words`` says all of it.
    """

    dots: tuple[tuple[float, float], ...]
    norm: float
    band: tuple[float, float]
    from_words: str
    to_words: str
    words: str
    width: int = SMALL_WIDE
    height: int = SMALL_HIGH

    @property
    def floor(self) -> int:
        """Return the height of the line of hours."""
        return self.height - 14


def small_picture(logs: Sequence[float], *, norm: float, likely: float, figure_80: float) -> SmallPicture:
    """Return the small picture of logs (hours of this task, oldest first) with norm, likely and 8-in-10 figure.

    What lies beyond twice the 8-in-10 figure stands at the right end.
    """
    shown = [min(hours, 2 * figure_80) for hours in logs[-SMALL_MOST:]]
    low = min([norm, likely, *shown]) * 0.95
    high = max([norm, figure_80, *shown]) * 1.05
    span = SMALL_WIDE - 2 * SMALL_EDGE

    def place(hours: float) -> float:
        return round(SMALL_EDGE + span * (hours - low) / (high - low), 1)

    floor, step = SMALL_HIGH - 14, (SMALL_HIGH - 26) / max(1, len(shown) - 1)
    several = (
        f"{len(logs)} log{'s' if len(logs) > 1 else ''}, {_hours(min(logs))} to {_hours(max(logs))}" if logs else ""
    )
    return SmallPicture(
        dots=tuple((place(hours), round(6 + number * step, 1)) for number, hours in enumerate(shown)),
        norm=place(norm),
        band=(place(likely), max(1.5, round(place(figure_80) - place(likely), 1))),
        from_words=_hours(low),
        to_words=_hours(high),
        words=f"{several or 'No logs yet'}; norm {_hours(norm)}, likely {_hours(likely)}, 8 in 10 {_hours(figure_80)}.",
        height=floor + 14,
    )


def _hours(hours: float) -> str:
    return f"{hours:.{1 if hours >= 1 else 2}f} h"


def _picture(shown: list[Dot], lines: list[tuple[str, float]], width: int, right: int) -> Picture:
    norm, likely, figure_80 = (hours for _, hours in lines)
    top = max([figure_80 * 1.15, norm * 1.15, *(min(dot.hours, 2.5 * figure_80) for dot in shown)])
    floor, roof = HEIGHT - FOOT, TOP

    def height(hours: float) -> float:
        return round(floor - (floor - roof) * min(hours, top) / top, 1)

    step = (right - LEFT - 16) / max(1, len(shown) - 1)
    spots = tuple(
        Spot(round(LEFT + 8 + place * step, 1), height(dot.hours), dot.words, dot.look)
        for place, dot in enumerate(shown)
    )
    named = [(height(hours), name, hours) for name, hours in lines]
    return Picture(
        spots=spots,
        lines=_spread(named),
        ticks=tuple((height(hours), f"{hours:g}") for hours in _ticks(top)),
        band=(height(figure_80), round(height(likely) - height(figure_80), 1)),
        words=f"{len(shown)} logs over time against the norm, the likely and the 8 in 10 figure.",
        first=shown[0].day if shown else "",
        last=shown[-1].day if len(shown) > 1 else "",
        width=width,
        right=right,
    )


def _spread(named: list[tuple[float, str, float]]) -> tuple[Line, ...]:
    """Push the names of lines apart that would print over each other; the lines stay where they are."""
    lines: list[Line] = []
    for y, name, hours in sorted(named):
        text_y = y + 4
        if lines and text_y < lines[-1].text_y + APART:
            text_y = lines[-1].text_y + APART
        lines.append(Line(y, round(text_y, 1), f"{name} {_hours(hours)}", name))
    return tuple(lines)


def _ticks(top: float) -> list[float]:
    for step in (0.05, 0.1, 0.25, 0.5, 1, 2, 5, 10, 20, 50, 100, 200):
        if top / step <= 5:
            return [round(step * place, 2) for place in range(int(top / step) + 1)]
    return [0.0]

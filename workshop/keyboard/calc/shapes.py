"""What a drawing is made of before it becomes SVG or a PDF page, and a search for free places for words."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

Point = tuple[float, float]


@dataclass(frozen=True)
class Line:
    """A line through points, or a filled outline when ``closed``; ``look`` names its material in the stylesheet."""

    look: str
    points: tuple[Point, ...]
    closed: bool = False


@dataclass(frozen=True)
class Circle:
    """A dot."""

    look: str
    x: float
    y: float
    radius: float


@dataclass(frozen=True)
class Words:
    """A short text standing on the baseline ``y``; ``anchor`` is start, middle or end."""

    look: str
    x: float
    y: float
    text: str
    anchor: str = "start"


Shape = Line | Circle | Words


@dataclass(frozen=True)
class Box:
    """A place that is taken."""

    left: float
    top: float
    right: float
    bottom: float

    def wider(self, by: float) -> "Box":
        """Return the place with some room left and right."""
        return Box(self.left - by, self.top, self.right + by, self.bottom)

    def hits(self, other: "Box") -> bool:
        """Tell whether two boxes share any ground."""
        return (
            self.left < other.right and other.left < self.right and self.top < other.bottom and other.top < self.bottom
        )


def text_width(text: str, size: float, bold: bool = False) -> float:
    """Return about how wide a text is in a sans face of ``size``, on the generous side (0.64 em a letter, bold 0.69).

    That is the mean of figures and capitals in the widest face of our stack (DejaVu Sans), measured from its tables.
    """
    return len(text) * size * (0.69 if bold else 0.64)


def words_box(words: Words, size: float, bold: bool = False) -> Box:
    """Return the place a text takes, from its capitals' tops to just under its baseline."""
    width = text_width(words.text, size, bold)
    left = words.x - {"start": 0.0, "middle": width / 2, "end": width}[words.anchor]
    return Box(left, words.y - 0.8 * size, left + width, words.y + 0.22 * size)


def first_free(
    candidates: Iterable[Words], taken: Sequence[Box], within: Box, size: float, bold: bool = False
) -> tuple[Words, Box] | None:
    """Return the first text that lies inside ``within`` and hits nothing that is taken, or None."""
    for words in candidates:
        box = words_box(words, size, bold)
        inside = (
            box.left >= within.left
            and box.right <= within.right
            and box.top >= within.top
            and box.bottom <= within.bottom
        )
        if inside and not any(box.hits(other) for other in taken):
            return words, box
    return None


def rectangle(look: str, left: float, top: float, right: float, bottom: float) -> Line:
    """Return a filled rectangle."""
    return Line(look, ((left, top), (right, top), (right, bottom), (left, bottom)), closed=True)


def lozenge(look: str, x: float, y: float, half: float) -> Line:
    """Return a filled lozenge around a point."""
    return Line(look, ((x, y - half), (x + half, y), (x, y + half), (x - half, y)), closed=True)

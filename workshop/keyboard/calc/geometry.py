"""Where the keys of an instrument lie, as one draws them: equal naturals, sharps between them.

Proportions are those of our own drawing (the note strip): a sharp is 0.58 of a natural wide; C♯ and D♯
stand off the joint between their naturals by 0.13 of a natural, F♯ and A♯ by 0.17, G♯ stands on it.
Real keyboards differ from maker to maker by more than that.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from workshop.keyboard.calc.notes import Compass, is_sharp

SHARP_WIDTH = 0.58  # of a natural
_OFF_CENTRE = {1: -0.13, 3: 0.13, 6: -0.17, 8: 0.0, 10: 0.17}  # semitone above C -> of a natural


@dataclass(frozen=True)
class KeyShape:
    """One key: its edges left and right, and the middle of its rear part, where a reading stands."""

    key: int
    sharp: bool
    left: float
    right: float
    middle: float


def natural_count(compass: Compass) -> int:
    """Return how many keys of the compass are naturals (85 keys from A0: 50)."""
    return sum(not is_sharp(key) for key in compass)


def _edges(compass: Compass) -> list[tuple[int, bool, float, float]]:
    """Return (key, sharp, left, right) in widths of a natural, the first natural beginning at 0."""
    edges: list[tuple[int, bool, float, float]] = []
    joint = 0
    for key in compass:
        if is_sharp(key):
            centre = joint + _OFF_CENTRE[(key + 8) % 12]
            edges.append((key, True, centre - SHARP_WIDTH / 2, centre + SHARP_WIDTH / 2))
        else:
            edges.append((key, False, float(joint), joint + 1.0))
            joint += 1
    return edges


def key_shapes(compass: Compass, left: float, width: float) -> tuple[KeyShape, ...]:
    """Return the keys from left to right, drawn from ``left`` over ``width`` (any unit of length).

    A compass that begins or ends on a sharp is drawn with that sharp whole, so the naturals are a little narrower.
    Raises ValueError when ``width`` is not positive.
    """
    if width <= 0:
        raise ValueError(f"A keyboard {width} wide cannot be drawn: the width must be more than 0.")
    edges = _edges(compass)
    first = min(edge[2] for edge in edges)
    last = max(edge[3] for edge in edges)
    scale = width / (last - first)
    shapes = []
    for place, (key, sharp, low, high) in enumerate(edges):
        rear_low, rear_high = low, high
        if not sharp:
            if place > 0 and edges[place - 1][1]:
                rear_low = edges[place - 1][3]
            if place + 1 < len(edges) and edges[place + 1][1]:
                rear_high = edges[place + 1][2]
        shapes.append(
            KeyShape(
                key=key,
                sharp=sharp,
                left=left + (low - first) * scale,
                right=left + (high - first) * scale,
                middle=left + ((rear_low + rear_high) / 2 - first) * scale,
            )
        )
    return tuple(shapes)


def gap_above(shapes: Sequence[KeyShape], key: int) -> float | None:
    """Return where a line between ``key`` and the next key stands; None at the top or outside the compass."""
    middles = {shape.key: shape.middle for shape in shapes}
    if key not in middles or key + 1 not in middles:
        return None
    return (middles[key] + middles[key + 1]) / 2

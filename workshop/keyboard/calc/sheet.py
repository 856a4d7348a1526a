"""The measures of the three drawings of a note strip, and the sheet one is drawn on."""

from dataclasses import dataclass, field

from workshop.keyboard.calc.geometry import KeyShape
from workshop.keyboard.calc.scale import PlotScale
from workshop.keyboard.calc.shapes import Box, Line, Shape
from workshop.keyboard.calc.strip import Strip


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
class Sheet:
    """The drawing while it is being made."""

    strip: Strip
    frame: Frame
    keys: tuple[KeyShape, ...]
    scale: PlotScale
    shapes: list[Shape] = field(default_factory=list)
    taken: list[Box] = field(default_factory=list)

    def middle(self, key: int) -> float:
        """Return where the reading of a key stands, from the left."""
        return self.keys[self.strip.compass.position(key) - 1].middle

    def height_of(self, value: float) -> float:
        """Return how far down a value stands; beyond the scale it stands at the edge."""
        part = min(1.0, max(0.0, self.scale.part(value)))
        return self.frame.foot - part * self.frame.plot

    def upright(self, look: str, x: float, top: float, bottom: float) -> None:
        """Draw an upright line and keep its ground free of words."""
        self.shapes.append(Line(look, ((x, top), (x, bottom))))
        self.taken.append(Box(x - 1, top, x + 1, bottom))

    def plot_ground(self) -> Box:
        """Return where names of readings may stand."""
        frame = self.frame
        return Box(frame.left, frame.top - 4, frame.right + 2, frame.foot)

    def below_names(self, x: float) -> float:
        """Return where a line from the keys may begin so that it does not strike a note name."""
        near = Box(x - 1.5, self.frame.keys + 1, x + 1.5, self.frame.top)
        return self.frame.top if any(box.hits(near) for box in self.taken) else self.frame.keys + 1

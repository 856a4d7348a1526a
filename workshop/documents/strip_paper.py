"""The note strip on paper: the same shapes as on a page, drawn as lines that can be searched and printed."""

from dataclasses import dataclass

from reportlab.lib.colors import HexColor
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from workshop.keyboard.calc.layout import strip_layout
from workshop.keyboard.calc.shapes import Circle, Line, Words
from workshop.keyboard.strip import Strip


@dataclass(frozen=True)
class _Look:
    """How a material is drawn: filled, stroked, how thick (in units of the drawing), how dashed."""

    fill: str = ""
    stroke: str = ""
    width: float = 1.0
    dash: tuple[float, ...] = ()


# The light colours of the stylesheet, as its print section sets them.
_LOOKS = {
    "band": _Look(fill="#ecdfbd"),
    "edge": _Look(stroke="#666666"),
    "ax": _Look(stroke="#666666"),
    "grid": _Look(stroke="#bbbbbb"),
    "nat": _Look(fill="#ffffff", stroke="#666666"),
    "shp": _Look(fill="#000000"),
    "cur": _Look(fill="#1f5a43"),
    "next": _Look(stroke="#1f5a43", width=1.5),
    "pt": _Look(fill="#333333"),
    "off": _Look(fill="#000000"),
    "out": _Look(fill="#8a1f1c"),
    "before": _Look(fill="#ffffff", stroke="#333333", width=1.25),
    "lead": _Look(stroke="#8a1f1c", width=0.75),
    "move": _Look(stroke="#666666"),
    "miss": _Look(stroke="#000000", width=1.1),
    "brk": _Look(stroke="#000000", dash=(5, 3)),
    "iron": _Look(stroke="#444444"),
    "jump": _Look(stroke="#8a1f1c", width=1.5),
}
LETTERING = 14.0  # units of the wide drawing


class StripOnPaper(Flowable):
    """A note strip as wide as the column it stands in. ``font`` and ``bold`` are fonts that are registered."""

    def __init__(self, strip: Strip, font: str, bold: str) -> None:
        super().__init__()
        self.layout = strip_layout(strip, "wide")
        self.font, self.bold = font, bold
        self.scale = 1.0

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Return the size it takes, in points."""
        self.scale = width / self.layout.width
        return width, self.layout.height * self.scale

    def draw(self) -> None:
        """Draw the shapes, from back to front; the drawing's y runs downwards, the paper's upwards."""
        canvas: Canvas = self.canv
        canvas.saveState()
        canvas.scale(self.scale, self.scale)
        for shape in self.layout.shapes:
            if isinstance(shape, Words):
                self._words(canvas, shape)
            else:
                self._drawn(canvas, shape)
        canvas.restoreState()

    def _y(self, y: float) -> float:
        return self.layout.height - y

    def _words(self, canvas: Canvas, words: Words) -> None:
        bad = words.look == "bad"
        canvas.setFillColor(HexColor("#8a1f1c" if bad else "#444444"))
        canvas.setFont(self.bold if bad else self.font, LETTERING)
        put = {"end": canvas.drawRightString, "middle": canvas.drawCentredString}.get(words.anchor, canvas.drawString)
        put(words.x, self._y(words.y), words.text)

    def _drawn(self, canvas: Canvas, shape: Line | Circle) -> None:
        look = _LOOKS.get(shape.look, _Look(stroke="#666666"))
        if look.fill:
            canvas.setFillColor(HexColor(look.fill))
        if look.stroke:
            canvas.setStrokeColor(HexColor(look.stroke))
        canvas.setLineWidth(look.width)
        canvas.setDash(*([list(look.dash)] if look.dash else []))
        if isinstance(shape, Circle):
            canvas.circle(shape.x, self._y(shape.y), shape.radius, stroke=bool(look.stroke), fill=bool(look.fill))
            return
        path = canvas.beginPath()
        first, *others = shape.points
        path.moveTo(first[0], self._y(first[1]))
        for x, y in others:
            path.lineTo(x, self._y(y))
        if shape.closed:
            path.close()
        canvas.drawPath(path, stroke=bool(look.stroke), fill=bool(look.fill and shape.closed))


def marks_words(strip: Strip) -> str:
    """Return in words what the marks of a strip mean, for the line below it."""
    states = {dot.state for dot in strip.dots}
    parts = [f"{strip.band_words} {strip.range_words} in cream"] if strip.range_words else []
    parts.append("before hollow, after filled" if strip.before else f"dot {strip.in_words}")
    if states & {"out", "worst"}:
        parts.append(f"lozenge {strip.out_words}")
    if "missing" in states:
        parts.append(f"open tick {strip.missing_words}")
    words = "; ".join(parts)
    return words[:1].upper() + words[1:]

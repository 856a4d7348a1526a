"""Photographs of the demo: plain drawings, since an invented piano cannot be photographed."""

import io
import math
import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from django.core.files.base import ContentFile
from PIL import Image, ImageDraw, ImageFilter

from jobs.assessment.models import Assessment
from jobs.assessment.services import photograph_keep
from jobs.demo.moments import Moments
from jobs.intake.models import Instrument
from workshop.people.models import Person

SIZE = (1280, 960)
WOOD, GRAIN, RIB = "#c99a5b", "#b58547", "#a8763a"
FELT, FELT_EDGE, MOULDING = "#efe6d2", "#c9bda2", "#9c6b3c"
BRASS, BRASS_DARK, SHADOW, WALNUT = "#c9a14a", "#8f6f2a", "#2b1d12", "#6b4527"
Pen = ImageDraw.ImageDraw


def soundboard_crack(pen: Pen) -> None:
    """Draw a soundboard from below: grain, three ribs, and a crack that runs with the grain, with a rule beside it."""
    rng = random.Random(212)
    width, height = SIZE
    pen.rectangle((0, 0, width, height), fill=WOOD)
    for x in range(0, width, 9):
        sway = rng.uniform(-5, 5)
        pen.line([(x + sway, 0), (x - sway, height)], fill=GRAIN, width=rng.choice((1, 1, 2)))
    for y in (150, 450, 750):
        pen.polygon([(0, y), (width, y - 60), (width, y), (0, y + 60)], fill=RIB, outline=WALNUT)
    points = [(640 + 14 * math.sin(y / 70) + rng.uniform(-5, 5), y) for y in range(60, 900, 24)]
    for place, (start, end) in enumerate(zip(points, points[1:], strict=False)):
        pen.line([start, end], fill=SHADOW, width=3 + round(8 * math.sin(math.pi * place / len(points))))
    _rule(pen, 720, 880)


def hammer_set(pen: Pen) -> None:
    """Draw ten hammers in a row from the side, the strings' grooves worn deep into the middle ones."""
    width, height = SIZE
    pen.rectangle((0, 0, width, height), fill="#d9d3c7")
    pen.rectangle((0, 760, width, height), fill=WALNUT)
    for place in range(10):
        x = 85 + place * 122
        pen.rectangle((x - 9, 470, x + 9, 800), fill=MOULDING)
        pen.polygon([(x - 26, 500), (x + 26, 500), (x + 12, 250), (x - 12, 250)], fill=MOULDING, outline=WALNUT)
        pen.ellipse((x - 46, 190, x + 46, 430), fill=FELT, outline=FELT_EDGE, width=5)
        depth = 10 + round(34 * math.sin(math.pi * (place + 1) / 11))
        for string in (-17, 0, 17):
            pen.rounded_rectangle((x + string - 4, 180, x + string + 4, 196 + depth), radius=4, fill="#7d7260")
    _rule(pen, 60, 900)


def castor_socket(pen: Pen) -> None:
    """Draw a leg of an upright with its castor, and the crack that runs up from the socket."""
    width, height = SIZE
    pen.rectangle((0, 0, width, height), fill="#cfc8ba")
    pen.rectangle((0, 820, width, height), fill="#8c8272")
    pen.polygon([(430, 0), (850, 0), (820, 560), (460, 560)], fill=MOULDING, outline=WALNUT)
    pen.rectangle((540, 520, 740, 600), fill=BRASS_DARK)
    pen.rectangle((600, 600, 680, 680), fill=BRASS)
    pen.ellipse((540, 640, 740, 840), fill=BRASS, outline=BRASS_DARK, width=10)
    pen.ellipse((615, 715, 665, 765), fill=BRASS_DARK)
    crack = [(600, 560), (585, 480), (604, 410), (578, 330), (596, 250), (574, 180)]
    pen.line(crack, fill=SHADOW, width=9, joint="curve")
    pen.line([(604, 410), (640, 350), (632, 300)], fill=SHADOW, width=5, joint="curve")
    _rule(pen, 900, 780)


def _rule(pen: Pen, x: int, y: int) -> None:
    """Draw a rule of ten divisions, as one lays it beside what is photographed."""
    pen.rectangle((x, y, x + 320, y + 46), fill="#f4f1ea", outline=SHADOW, width=2)
    for mark in range(1, 20):
        pen.line([(x + 16 * mark, y), (x + 16 * mark, y + (26 if mark % 2 == 0 else 14))], fill=SHADOW, width=2)


@dataclass(frozen=True)
class Shown:
    """One drawing: of which instrument, what it shows, how many days ago it was made."""

    number: int
    caption: str
    days: int
    draw: Callable[[Pen], None]


SHOWN = (
    Shown(212, "The soundboard from below: it has opened along the grain (drawn for the demo)", -104, soundboard_crack),
    Shown(212, "Hammers 40 to 49, grooved deepest in the middle (drawn for the demo)", -104, hammer_set),
    Shown(221, "Hammers of the tenor, as they came (drawn for the demo)", -16, hammer_set),
    Shown(214, "The castor’s socket is cracked (drawn for the demo)", -6, castor_socket),
)


def photographs_keep(by: Person, moments: Moments, assessments: Mapping[int, Assessment]) -> None:
    """Keep the drawings as photographs of their instruments; ``assessments``: number -> the assessment they join."""
    for shown in SHOWN:
        picture = Image.new("RGB", SIZE)
        shown.draw(ImageDraw.Draw(picture))
        kept = io.BytesIO()
        picture.filter(ImageFilter.SMOOTH_MORE).save(kept, "JPEG", quality=88)
        photograph_keep(
            instrument=Instrument.objects.get(number=shown.number),
            upload=ContentFile(kept.getvalue(), name="drawing.jpg"),
            caption=shown.caption,
            by=by,
            at=moments.at(shown.days, 12),
            assessment=assessments.get(shown.number),
        )

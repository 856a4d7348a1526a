"""The note strip on a page: shapes become SVG, with a title and a description for those who cannot see it."""

from collections.abc import Iterable
from itertools import groupby

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from workshop.keyboard.calc.layout import strip_layout
from workshop.keyboard.calc.notes import key_name
from workshop.keyboard.calc.shapes import Circle, Line, Shape, Words
from workshop.keyboard.calc.sheet import Layout, Tap
from workshop.keyboard.calc.strip import Dot, Reading, Strip, make_strip

__all__ = ["Dot", "Reading", "Strip", "draw", "make_strip"]


def figure(number: float) -> str:
    """Return a length as SVG writes it, to a tenth."""
    return f"{number:.1f}".removesuffix(".0").replace("-0", "0" if number > -0.05 else "-0")


def _path(line: Line) -> str:
    points = "L".join(f"{figure(x)} {figure(y)}" for x, y in line.points)
    return f"M{points}{'z' if line.closed else ''}"


def _group(look: str, shapes: Iterable[Shape]) -> str:
    """Draw neighbours of one look together: one path, or one group of circles."""
    shapes = list(shapes)
    if isinstance(shapes[0], Words):
        return "".join(
            f'<text class="{look}" x="{figure(each.x)}" y="{figure(each.y)}" text-anchor="{each.anchor}">'
            f"{escape(each.text)}</text>"
            for each in shapes
            if isinstance(each, Words)
        )
    if isinstance(shapes[0], Circle):
        circles = "".join(
            f'<circle cx="{figure(each.x)}" cy="{figure(each.y)}" r="{figure(each.radius)}"/>'
            for each in shapes
            if isinstance(each, Circle)
        )
        return f'<g class="{look}">{circles}</g>'
    return f'<path class="{look}" d="{"".join(_path(each) for each in shapes if isinstance(each, Line))}"/>'


def _tap(tap: Tap, strip: Strip) -> str:
    name = key_name(tap.key)
    href = strip.href_for(tap.key) if strip.href_for else ""
    # The number field and "another note" do the same from the keyboard; 88 more stops would be a burden.
    return (
        f'<a href="{escape(href)}" tabindex="-1" aria-label="{name}"><rect class="tap" x="{figure(tap.left)}" '
        f'y="{figure(tap.top)}" width="{figure(tap.right - tap.left)}" height="{figure(tap.bottom - tap.top)}"/></a>'
    )


def draw(strip: Strip, width: str = "wide", ident: str = "strip") -> SafeString:
    """Return the strip as one SVG drawing in one of three widths: wide, mid (the letter) or narrow (a phone).

    ``ident`` begins the ids of title and description and must be different for each strip of a page.
    """
    layout: Layout = strip_layout(strip, width)
    look = {"wide": "wide", "mid": "wide mid", "narrow": "narrow"}[width]
    ident = f"{ident}-{width[0]}"
    role = "group" if layout.taps else "img"
    drawn = "".join(
        _group(name, group) for (name, _), group in groupby(layout.shapes, key=lambda each: (each.look, type(each)))
    )
    taps = "".join(_tap(tap, strip) for tap in layout.taps)
    return mark_safe(  # noqa: S308 - every word in it is escaped
        f'<svg class="{look}" viewBox="0 0 {figure(layout.width)} {figure(layout.height)}" role="{role}" '
        f'aria-labelledby="{ident}-t {ident}-d"><title id="{ident}-t">{escape(strip.title)}</title>'
        f'<desc id="{ident}-d">{escape(strip.description)}</desc>{drawn}{taps}</svg>'
    )

"""Small drawings beside figures: twenty dots, hours against their range, floor places, the thread of a day."""

import datetime as dt
from collections.abc import Sequence

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from workshop.calendar.words import day_words, hours_words

DOTS = 20
DEEP = 5  # dots in a pile


def number(value: float) -> str:
    """Return a length as SVG writes it, to a tenth."""
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def text(x: float, y: float, words: str, look: str = "", anchor: str = "start") -> str:
    """Return words in SVG, escaped, standing on the line ``y``."""
    looks = f' class="{look}"' if look else ""
    ends = f' text-anchor="{anchor}"' if anchor != "start" else ""
    return f'<text{looks} x="{number(x)}" y="{number(y)}"{ends}>{escape(words)}</text>'


def rect(look: str, x: float, y: float, width: float, height: float, title: str = "") -> str:
    """Return a rectangle in SVG, with a title for those who point at it or listen."""
    inside = f"><title>{escape(title)}</title></rect>" if title else "/>"
    return (
        f'<rect class="{look}" x="{number(x)}" y="{number(y)}" width="{number(width)}" '
        f'height="{number(height)}"{inside}'
    )


def twenty(ends: Sequence[dt.date]) -> list[dt.date]:
    """Return twenty ends that stand for all, taken evenly from the sorted ones (the middle of each twentieth)."""
    ranked = sorted(ends)
    return [ranked[int((place + 0.5) * len(ranked) / DOTS)] for place in range(DOTS)] if ranked else []


def _friday(day: dt.date) -> dt.date:
    """Return the Friday a week is named for; Saturday and Sunday belong to the week before."""
    return day + dt.timedelta(days=4 - day.weekday())


def _columns(ends: Sequence[dt.date], promise: dt.date, most: int = 7) -> list[tuple[dt.date, int]]:
    """Return (Friday, weeks) for each column: one week each, or two, three, … where the ends spread far."""
    first = min(_friday(ends[0]), _friday(promise))
    last = max(_friday(ends[-1]), _friday(promise))
    weeks = (last - first).days // 7 + 1
    step = -(-weeks // most)
    return [(first + dt.timedelta(days=7 * (place + step - 1)), step) for place in range(0, weeks, step)]


def draw_dots(
    ends: Sequence[dt.date], promise: dt.date, *, title: str, ident: str = "futures", word: str = "promised"
) -> SafeString:
    """Return twenty dots for twenty equally likely ends, each in its week; filled where the promise is kept.

    ``ends`` may be any number of simulated ends (at least one); the promised day is a thick line between
    the dots, with ``word`` beside it. Raises ValueError without any end.
    """
    if not ends:
        raise ValueError("No ends were simulated yet, so no chance can be drawn.")
    dots = twenty(ends)
    columns = _columns(dots, promise)
    wide = 620 / len(columns)
    drawn = ""
    for place, (friday, weeks) in enumerate(columns):
        begins = friday - dt.timedelta(days=7 * weeks - 3)  # its first Monday
        last = friday + dt.timedelta(days=2)
        own = [end for end in dots if begins <= end <= last]
        drawn += _column(own, promise, word if begins <= promise <= last else "", place * wide, wide)
        drawn += text(place * wide + 4, 104, f"to {day_words(friday).split(' ', 1)[1]}")
    kept = sum(end <= promise for end in dots)
    at = "the promise" if word == "promised" else "the day that holds"
    description = f"{kept} of {DOTS} fall on or before {at}, {day_words(promise)}; {DOTS - kept} later."
    return mark_safe(  # noqa: S308 - every word in it is escaped
        f'<svg class="small" viewBox="0 0 620 110" role="img" aria-labelledby="{ident}-t {ident}-d">'
        f'<title id="{ident}-t">{escape(title)}</title><desc id="{ident}-d">{description}</desc>'
        f'{drawn}<path class="ax" d="M0 88H620"/></svg>'
    )


def _column(own: Sequence[dt.date], promise: dt.date, word: str, x: float, wide: float) -> str:
    """Draw the dots of one column; the promise is a thick line between kept and late ones."""
    good = [end for end in own if end <= promise]
    late = [end for end in own if end > promise]
    drawn = f'<path class="grid" d="M{number(x)} 10V88"/>{_heap(good, "pt", x + 14)}'
    if not word:
        return drawn + _heap(late, "before", x + 14)
    line = x + 10 + 15 * -(-len(good) // DEEP) if late else x + wide - 1
    drawn += f'<path class="promise" d="M{number(line)} 6V90"/>' + _heap(late, "before", line + 14)
    if line > 540:
        return drawn + text(line - 6, 9, word, "strong", "end")
    return drawn + text(line + 6, 9, word, "strong")


def _heap(ends: Sequence[dt.date], look: str, x: float) -> str:
    return "".join(
        f'<circle class="{look}" cx="{number(x + 15 * (place // DEEP))}" '
        f'cy="{number(79 - 15 * (place % DEEP))}" r="5.5"/>'
        for place in range(len(ends))
    )


def draw_hours_bar(used: float, likely: float, high: float, scale: float) -> SafeString:
    """Return hours in a table cell: cream from the likely hours to those of 8 in 10, a pencil line for logged ones.

    ``scale`` is the longest of the table, so that all its bars compare. Raises ValueError when it is not above 0.
    """
    if scale <= 0:
        raise ValueError("The scale of an hours bar must be above 0: give the most hours of the table.")
    unit = 150 / scale
    low, top = min(likely, scale) * unit, min(max(high, likely), scale) * unit
    label = f"likely {hours_words(likely)}, {hours_words(high)} in 8 of 10" + (
        f", {hours_words(used)} logged" if used else ""
    )
    line = f'<rect class="pt" x="0" y="6" width="{number(min(used, scale) * unit)}" height="3"/>' if used else ""
    return mark_safe(  # noqa: S308 - numbers and our own words only
        f'<svg class="hrs" width="154" height="14" viewBox="0 0 154 14" role="img" aria-label="{escape(label)}">'
        f'<path class="grid" d="M0 13.5H150"/>{rect("band", low, 2, max(top - low, 1.5), 11)}'
        f'<path class="edge" d="M{number(low)} 2V13M{number(max(top, low + 1.5))} 2V13"/>{line}</svg>'
    )


def draw_slots(held: int, total: int, changing: int = 0) -> SafeString:
    """Return floor places as squares: filled while held all week, half where one leaves or arrives, open when free.

    ``held`` counts those that change as well.
    """
    parts = []
    for place in range(total):
        x = 0.5 + 11 * place
        if place < held - changing:
            parts.append(f'<rect class="slot held" x="{number(x)}" y=".5" width="9" height="13"/>')
        else:
            parts.append(f'<rect class="slot" x="{number(x)}" y=".5" width="9" height="13"/>')
            if place < held:
                parts.append(f'<rect class="slot held" x="{number(x)}" y="7" width="9" height="6.5"/>')
    wide = 11 * total
    return mark_safe(  # noqa: S308 - numbers only
        f'<svg class="slots" width="{wide}" height="15" viewBox="0 0 {wide} 15" aria-hidden="true">'
        f"{''.join(parts)}</svg>"
    )


def draw_thread(done: float, full: float) -> SafeString:
    """Return the thread under a day: as long as ``done`` is of ``full`` hours.

    What goes beyond the full day is a second, red thread under it.
    """
    part = min(done / full, 1.0) * 100 if full > 0 else 0.0
    more = min(done / full - 1, 1.0) * 100 if full > 0 and done > full + 1e-6 else 0.0
    second = f'<rect class="over-full" x="0" y="5" width="{number(more)}" height="3"/>' if more else ""
    return mark_safe(  # noqa: S308 - numbers only
        f'<svg class="thread" viewBox="0 0 100 3" preserveAspectRatio="none" aria-hidden="true">'
        f'<rect x="0" y="0" width="{number(part)}" height="3"/>{second}</svg>'
    )

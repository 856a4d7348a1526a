"""Small drawings beside figures: twenty dots, hours against their range, floor places, the thread of a day."""

import datetime as dt
from collections.abc import Sequence

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from workshop.calendar.words import day_words, hours_words

DOTS = 20


def number(value: float) -> str:
    """Return a length as SVG writes it, to a tenth."""
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


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


def draw_dots(ends: Sequence[dt.date], promise: dt.date, *, title: str, ident: str = "futures") -> SafeString:
    """Return twenty dots for twenty equally likely ends, each in its week; filled where the promise is kept.

    ``ends`` may be any number of simulated ends (at least one); the promised day is a thick line between the dots.
    Raises ValueError without any end.
    """
    if not ends:
        raise ValueError("No ends were simulated yet, so no chance can be drawn.")
    dots = twenty(ends)
    columns = _columns(dots, promise)
    wide = 620 / len(columns)
    kept = sum(end <= promise for end in dots)
    drawn = ""
    tallest = 1
    promised = 0.0
    for place, (friday, weeks) in enumerate(columns):
        begins = friday - dt.timedelta(days=7 * weeks - 3)  # the Saturday before its first week
        own = [end for end in dots if begins < end + dt.timedelta(days=1) <= friday + dt.timedelta(days=3)]
        x = place * wide
        good = [end for end in own if end <= promise]
        late = [end for end in own if end > promise]
        here = begins < promise + dt.timedelta(days=1) <= friday + dt.timedelta(days=3)
        deep = 5 if wide < 60 else 4
        across = -(-len(good) // deep)
        drawn += f'<path class="grid" d="M{number(x)} 10V88"/><text x="{number(x + 4)}" y="104">to {day_words(friday).split(" ", 1)[1]}</text>'
        drawn += _heap(good, "pt", x + 14, deep)
        line = x + max(wide - 1, 0) if not late or not here else x + 14 + across * 15 - 4
        if here:
            promised = line
        drawn += _heap(late, "before", (line + 14) if here else x + 14, deep)
        tallest = max(tallest, len(own))
    anchor = "end" if promised > 540 else "start"
    drawn += (
        f'<path class="promise" d="M{number(promised)} 6V94"/>'
        f'<text class="strong" x="{number(promised + (6 if anchor == "start" else -6))}" y="9" text-anchor="{anchor}">promised</text>'
    )
    description = (
        f"{kept} of {DOTS} fall on or before the promise, {day_words(promise)}; {DOTS - kept} later."
    )
    return mark_safe(  # noqa: S308 - every word in it is escaped
        f'<svg class="small" viewBox="0 0 620 110" role="img" aria-labelledby="{ident}-t {ident}-d">'
        f'<title id="{ident}-t">{escape(title)}</title><desc id="{ident}-d">{description}</desc>'
        f'{drawn}<path class="ax" d="M0 88H620"/></svg>'
    )


def _heap(ends: Sequence[dt.date], look: str, x: float, deep: int) -> str:
    return "".join(
        f'<circle class="{look}" cx="{number(x + 15 * (place // deep))}" cy="{number(79 - 15 * (place % deep))}" r="5.5"/>'
        for place in range(len(ends))
    )


def draw_hours_bar(used: float, likely: float, high: float, scale: float) -> SafeString:
    """Return hours in a table cell: cream from the likely hours to those of 8 in 10, a pencil line for the hours logged.

    ``scale`` is the longest of the table, so that all its bars compare. Raises ValueError when it is not above 0.
    """
    if scale <= 0:
        raise ValueError("The scale of an hours bar must be above 0: give the most hours of the table.")
    unit = 150 / scale
    low, top = min(likely, scale) * unit, min(max(high, likely), scale) * unit
    label = f"likely {hours_words(likely)}, {hours_words(high)} in 8 of 10" + (
        f", {hours_words(used)} logged" if used else ""
    )
    line = (
        f'<rect class="pt" x="0" y="6" width="{number(min(used, scale) * unit)}" height="3"/>' if used else ""
    )
    return mark_safe(  # noqa: S308 - numbers and our own words only
        f'<svg class="hrs" width="154" height="14" viewBox="0 0 154 14" role="img" aria-label="{escape(label)}">'
        f'<path class="grid" d="M0 13.5H150"/><rect class="band" x="{number(low)}" y="2" width="{number(max(top - low, 1.5))}" height="11"/>'
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
        f'<svg class="slots" width="{wide}" height="15" viewBox="0 0 {wide} 15" aria-hidden="true">{"".join(parts)}</svg>'
    )


def draw_thread(done: float, full: float) -> SafeString:
    """Return the thread under a day: as long as ``done`` is of ``full`` hours; beyond the full day it turns red."""
    part = min(done / full, 1.0) * 100 if full > 0 else 0.0
    over = ' class="over-full"' if full > 0 and done > full + 1e-6 else ""
    return mark_safe(  # noqa: S308 - numbers only
        f'<svg class="thread" viewBox="0 0 100 3" preserveAspectRatio="none" aria-hidden="true">'
        f'<rect{over} x="0" y="0" width="{number(part)}" height="3"/></svg>'
    )

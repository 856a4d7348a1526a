"""Timelines as drawings from the server: who works when, and what each instrument waits for.

Eight weeks of working days, Mondays as hairlines. A wait is never a bar, because nobody works; what can be
wrong is drawn as a range. The same rows stand in a table on the page: a drawing never says more than they do.
All lengths are drawing units: a day is 26.1 wide at the usual eight weeks.
"""

import datetime as dt
from collections.abc import Sequence

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from workshop.calendar.words import day_words
from workshop.web.figures import draw_dots, draw_hours_bar, draw_slots, draw_thread, number, rect, text
from workshop.web.timespan import LEFT, WIDTH, Arrival, Away, Bar, Lane, Promise, Span, Wait, day_of

__all__ = [
    "Arrival", "Away", "Bar", "Lane", "Promise", "Span", "Wait",
    "draw_dots", "draw_hours_bar", "draw_instruments", "draw_people", "draw_slots", "draw_thread",
]  # fmt: skip

HAMMER = "M6 14V8M6 1c3 0 4.6 1.8 4.6 3.6S9 8 6 8 1.4 6.4 1.4 4.6 3 1 6 1z"
LETTER = 6.4  # width of a letter of a bar's text, on the generous side
LOOKS = {"begun": "begun", "planned": "work", "draft": "work draft", "done": "past"}


def whole_words(text: str, width: float, letter: float = LETTER) -> str:
    """Return as many whole words of ``text`` as fit into ``width``, or "" when not even the first does.

    What is left never ends on a joining word or a comma.
    """
    kept = ""
    for word in text.split():
        longer = f"{kept} {word}".strip()
        if len(longer) * letter > width:
            break
        kept = longer
    words = kept.split()
    while words and kept != text and words[-1].lower() in {"and", "of", "the", "to", "with", "for", "in", "a", "on"}:
        words.pop()
    return " ".join(words).rstrip(",;:")


def _mondays(span: Span, bottom: float) -> str:
    parts = []
    seen = set()
    for day in span.days:
        week = day.isocalendar()[:2]
        if week in seen:
            continue
        seen.add(week)
        x = span.x(day)
        parts.append(f'<path class="grid" d="M{number(x)} 22V{number(bottom)}"/>')
        parts.append(text(x + 4, 14, day_words(day).split(" ", 1)[1], "strong" if len(seen) == 1 else ""))
    return "".join(parts)


def _now(span: Span, bottom: float) -> str:
    if span.now is None or not span.shows(span.now, span.now):
        return ""
    x = number(span.x(span.now))
    return f'<path class="now" d="M{x} 22V{number(bottom)}"><title>now</title></path>'


def _head(lane: Lane, top: float, bottom: float) -> str:
    name = text(0, top + 16, whole_words(lane.name, LEFT - 8, 7.2), "strong")
    note = text(0, top + 32, whole_words(lane.note, LEFT, 5.7), "sm") if lane.note else ""
    name = f'<a href="{escape(lane.href)}">{name}</a>' if lane.href else name
    return f'<path class="grid" d="M0 {number(bottom)}H{number(WIDTH)}"/>{name}{note}'


def days_words(bar: Bar) -> str:
    """Return the title of a bar that brings none: number, task, from and to."""
    first, last = day_of(bar.first), day_of(bar.last)
    when = day_words(first) if first == last else f"{day_words(first)} to {day_words(last)}"
    return f"{bar.number} {bar.text}, {when}, {'not accepted yet' if bar.state == 'draft' else bar.state}".strip()


def _bar(span: Span, bar: Bar, top: float, high: float, two_lines: bool) -> str:
    left, right = span.x(bar.first) + 1, span.x(bar.last, after=True) - 1
    width = max(right - left, 3.0)
    ink = {"begun": "onc", "done": "onp"}.get(bar.state, "ink")
    title = bar.title or days_words(bar)
    drawn = rect(LOOKS[bar.state], left, top, width, high, title)
    inset = 3.5 if width > 30 else 2
    room = width - 2 * inset + 2
    lines = [(ink, whole_words(bar.text, room), 28 if two_lines else 16)]
    if two_lines and len(bar.number) * 6.6 <= room:
        lines.insert(0, (f"{ink} b", bar.number, 14))
    drawn += "".join(text(left + inset, top + drop, words, look) for look, words, drop in lines if words)
    return f'<a href="{escape(bar.href)}" aria-label="{escape(title)}">{drawn}</a>' if bar.href else drawn


def _hatching(span: Span, away: Sequence[Away], lane: str, top: float, high: float) -> str:
    """Hatch the days a lane is away, neighbours together; a day named twice is hatched once."""
    words: dict[dt.date, str] = {}
    for each in away:
        if each.lane in ("", lane):
            for day in span.days:
                if each.first <= day <= each.last:
                    words.setdefault(day, each.words)
    runs: list[list[dt.date]] = []
    for place, day in enumerate(span.days):
        if day not in words:
            continue
        before = span.days[place - 1] if place else None
        if runs and runs[-1][-1] == before and words[runs[-1][0]] == words[day]:
            runs[-1].append(day)
        else:
            runs.append([day])
    parts = []
    for run in runs:
        left, right = span.x(run[0]), span.x(run[-1], after=True)
        title = f"{lane}: {words[run[0]]}, {day_words(run[0])} to {day_words(run[-1])}"
        parts.append(rect("away-days", left, top, right - left, high, title))
    return "".join(parts)


def _svg(height: float, linked: bool, ident: str, title: str, description: str, drawn: str) -> SafeString:
    return mark_safe(  # noqa: S308 - every word in it is escaped
        f'<svg viewBox="0 0 {number(WIDTH)} {number(height)}" role="{"group" if linked else "img"}" '
        f'aria-labelledby="{ident}-t {ident}-d"><title id="{ident}-t">{escape(title)}</title>'
        f'<desc id="{ident}-d">{escape(description)}</desc>{drawn}</svg>'
    )


def draw_people(
    span: Span,
    lanes: Sequence[Lane],
    bars: Sequence[Bar],
    away: Sequence[Away] = (),
    *,
    title: str = "Plan by person",
    ident: str = "people",
) -> SafeString:
    """Return one lane of 38 units a person: number above task, hatching where they are away.

    Bars outside the span are left out. Raises KeyError for an unknown state of a bar.
    """
    bottom = 30 + 50 * len(lanes)
    drawn = _mondays(span, bottom) + _now(span, bottom)
    shown = [bar for bar in bars if span.shows(bar.first, bar.last)]
    for place, lane in enumerate(lanes):
        top = 34 + 50 * place
        drawn += _head(lane, top - 3, top + 43) + _hatching(span, away, lane.name, top, 38)
        drawn += "".join(_bar(span, bar, top, 38, True) for bar in shown if bar.lane == lane.name)
    description = (
        f"One row for each of {len(lanes)} people, {day_words(span.start)} to {day_words(span.end)}. "
        "Filled bars are begun, outlined bars are planned, dashed ones not accepted yet, hatching is time away. "
        "The same plan stands in the table."
    )
    linked = any(bar.href for bar in shown) or any(lane.href for lane in lanes)
    return _svg(bottom, linked, ident, title, description, drawn)


def _wait(span: Span, wait: Wait, top: float) -> str:
    left, right = span.x(wait.first) + 5, span.x(wait.last, after=True) - 5
    if right - left < 6:
        left, right = left - 3, max(right + 3, left + 3)
    middle = top + 12
    when = f"{day_words(day_of(wait.first))} to {day_words(day_of(wait.last))}"
    title = escape(wait.title or f"{wait.words}, {when}, needs nobody")
    drawn = f'<path class="stop" d="M{number(left)} {number(middle - 5)}v10M{number(right)} {number(middle - 5)}v10"/>'
    if right - left > 9:
        drawn += f'<path class="wait" d="M{number(left + 4)} {number(middle)}H{number(right - 3)}"/>'
    words = whole_words(wait.words, right - left + 14, 5.6)
    if words:
        drawn += text((left + right) / 2, top + 35, words, "sm", "middle")
    return f"<g><title>{title}</title>{drawn}</g>"


def _lower_lane(span: Span, arrivals: Sequence[Arrival], promise: Promise | None, top: float) -> str:
    """Draw what arrives and what was promised; a name that finds no room is left to the title and the table."""
    marks = sorted((each for each in arrivals if span.shows(each.date, each.date)), key=lambda each: each.date)
    at = [span.x(each.date) + 1 for each in marks]
    drawn, words_at = _promise(span, promise, at, top) if promise else ("", [])
    for place, arrival in enumerate(marks):
        x = at[place]
        stops = [each for each in [*at[place + 1 :], *words_at, WIDTH] if each > x]
        look = "part-in" if arrival.here else "part-mk"
        title = escape(f"{arrival.words}, {'here since' if arrival.here else 'due'} {day_words(arrival.date)}")
        words = whole_words(arrival.words, min(stops) - x - 18, 6.6)
        drawn += (
            f'<g><title>{title}</title><path class="{look}" '
            f'transform="translate({number(x)} {number(top + 39)})" d="{HAMMER}"/>'
            f"{text(x + 16, top + 51, words) if words else ''}</g>"
        )
    return drawn


def _promise(span: Span, promise: Promise, marks: Sequence[float], top: float) -> tuple[str, list[float]]:
    """Draw chance, promised day and words, and return them with the left edges of what they take.

    What lies beyond the last week is said with an arrow.
    """
    first, last = promise.low or promise.date, promise.high or promise.date
    low, high = span.x(first), span.x(last, after=True)
    at = span.x(promise.date, after=True)
    inside = span.start <= promise.date <= span.end
    drawn, taken = "", []
    if promise.low and promise.high and promise.low <= span.end and promise.high >= span.start:
        drawn += rect("chance", low, top + 39, max(high - low, 4), 18)
        taken.append(low)
    if inside:
        drawn += f'<path class="promise" d="M{number(at)} {number(top + 36)}v24"/>'
        taken.append(at)
    words = f"{promise.words} →" if promise.date > span.end else promise.words
    wide = len(words) * 6.9
    edges = [at - 7, max(at, high) + 7 + wide] if inside else [WIDTH - 8, low - 7]
    if not inside and low - 7 > WIDTH - wide - 8 and first <= span.end:
        edges.reverse()
    for edge in edges:
        free = all(mark + 16 < edge - wide or mark > edge for mark in marks)
        if free and edge - wide >= LEFT and edge <= WIDTH:
            drawn += text(edge, top + 52, words, "bad" if promise.late else "strong", "end")
            taken.append(edge - wide)
            break
    chance = ""
    if promise.low and promise.high:
        chance = f"; reached 2 times in 10 by {day_words(promise.low)}, 8 in 10 by {day_words(promise.high)}"
    title = escape(f"{promise.words}. Promised {day_words(promise.date)}{chance}")
    return f"<g><title>{title}</title>{drawn}</g>", taken


def draw_instruments(
    span: Span,
    lanes: Sequence[Lane],
    bars: Sequence[Bar],
    waits: Sequence[Wait] = (),
    arrivals: Sequence[Arrival] = (),
    promises: Sequence[Promise] = (),
    away: Sequence[Away] = (),
    *,
    title: str = "Plan by instrument",
    ident: str = "instruments",
) -> SafeString:
    """Return two lanes an instrument: above work and waits, below arrivals, promise and chance.

    What lies outside the span is left out, except a promise beyond its end, which is said with an arrow.
    """
    bottom = 30 + 78 * len(lanes)
    drawn = _mondays(span, bottom) + _now(span, bottom)
    shown = [bar for bar in bars if span.shows(bar.first, bar.last)]
    for place, lane in enumerate(lanes):
        top = 38 + 78 * place
        drawn += _head(lane, top - 4, top + 66) + _hatching(span, away, lane.name, top, 24)
        drawn += "".join(_bar(span, bar, top, 24, False) for bar in shown if bar.lane == lane.name)
        drawn += "".join(
            _wait(span, each, top) for each in waits if each.lane == lane.name and span.shows(each.first, each.last)
        )
        promise = next((each for each in promises if each.lane == lane.name), None)
        drawn += _lower_lane(span, [each for each in arrivals if each.lane == lane.name], promise, top)
    description = (
        "Upper lane of each row: bars are work by a person; dotted lines between two stops are waits that need "
        "nobody. Lower lane: hammer marks show when parts arrive, a thick line is the promised day, and the cream "
        "band runs from the day reached 2 times in 10 to the day reached 8 times in 10. "
        "The same rows stand in the table."
    )
    linked = any(bar.href for bar in shown) or any(lane.href for lane in lanes)
    return _svg(bottom, linked, ident, title, description, drawn)

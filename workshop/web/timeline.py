"""Timelines as drawings from the server: who works when, and what each instrument waits for.

Eight weeks of working days, Mondays as hairlines. A wait is never a bar, because nobody works; what can be
wrong is drawn as a range. The same rows stand in a table on the page: a drawing never says more than they do.
All lengths are drawing units: a day is 26.1 wide at the usual eight weeks.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from workshop.calendar.words import day_words
from workshop.web.figures import draw_dots, draw_hours_bar, draw_slots, draw_thread, number

__all__ = [
    "Arrival", "Away", "Bar", "Lane", "Promise", "Span", "Wait",
    "draw_dots", "draw_hours_bar", "draw_instruments", "draw_people", "draw_slots", "draw_thread",
]  # fmt: skip

Moment = dt.date | dt.datetime
WIDTH, LEFT = 1160.0, 112.0
HAMMER = "M6 14V8M6 1c3 0 4.6 1.8 4.6 3.6S9 8 6 8 1.4 6.4 1.4 4.6 3 1 6 1z"
LETTER = 5.9  # width of a letter of a bar's text, on the generous side
LOOKS = {"begun": "begun", "planned": "work", "draft": "work draft", "done": "past"}


@dataclass(frozen=True)
class Lane:
    """One row: a person with what they do, or an instrument's number with its name."""

    name: str
    note: str = ""
    href: str = ""


@dataclass(frozen=True)
class Bar:
    """Work by a person, first to last day or moment, both included. ``state``: begun, planned, draft or done.

    ``lane`` is a lane's name; ``number`` the instrument's; ``title`` says the same in words for those who point or listen.
    """

    lane: str
    first: Moment
    last: Moment
    text: str
    number: str = ""
    state: str = "planned"
    href: str = ""
    title: str = ""


@dataclass(frozen=True)
class Wait:
    """Time that needs nobody: glue, polish, strings settling. First to last day or moment, both included."""

    lane: str
    first: Moment
    last: Moment
    words: str
    title: str = ""


@dataclass(frozen=True)
class Away:
    """Days a person is not in, both included; an empty ``lane`` closes the whole shop."""

    lane: str
    first: dt.date
    last: dt.date
    words: str = "away"


@dataclass(frozen=True)
class Arrival:
    """The day parts are due, or were received when ``here``."""

    lane: str
    date: dt.date
    words: str
    here: bool = False


@dataclass(frozen=True)
class Promise:
    """A promised day, and the days reached 2 times in 10 (``low``) and 8 times in 10 (``high``)."""

    lane: str
    date: dt.date
    low: dt.date
    high: dt.date
    words: str
    late: bool = False


@dataclass(frozen=True)
class Span:
    """The days a drawing shows: ``weeks`` weeks from a Monday, only ``workdays`` (Monday 0), clock from ``opens`` to ``closes``."""

    start: dt.date
    weeks: int = 8
    workdays: tuple[int, ...] = (0, 1, 2, 3, 4)
    opens: dt.time = dt.time(8)
    closes: dt.time = dt.time(16)
    now: dt.datetime | None = None
    days: tuple[dt.date, ...] = field(init=False)

    def __post_init__(self) -> None:
        if not self.workdays or self.weeks < 1:
            raise ValueError("A timeline needs at least one week and one working day.")
        monday = self.start - dt.timedelta(days=self.start.weekday())
        days = [monday + dt.timedelta(days=count) for count in range(7 * self.weeks)]
        object.__setattr__(self, "start", monday)
        object.__setattr__(self, "days", tuple(day for day in days if day.weekday() in self.workdays))

    @property
    def end(self) -> dt.date:
        """The last day shown."""
        return self.days[-1]

    @property
    def day_width(self) -> float:
        """The width of one working day."""
        return (WIDTH - 4 - LEFT) / len(self.days)

    def shows(self, first: Moment, last: Moment) -> bool:
        """Tell whether any of a stretch of time lies on the drawing."""
        return _day(last) >= self.start and _day(first) <= self.end

    def x(self, moment: Moment, after: bool = False) -> float:
        """Return where a moment lies; a date is the morning of its day, or its evening when ``after``.

        What falls on a closed day lies at the next working morning; what lies outside, at the edge.
        """
        day = _day(moment)
        before = sum(each < day for each in self.days)
        part = 0.0
        if before < len(self.days) and self.days[before] == day:
            part = self._part(moment) if isinstance(moment, dt.datetime) else float(after)
        return LEFT + min(before + part, len(self.days)) * self.day_width

    def _part(self, moment: dt.datetime) -> float:
        opens = self.opens.hour + self.opens.minute / 60
        closes = self.closes.hour + self.closes.minute / 60
        clock = moment.hour + moment.minute / 60
        return min(1.0, max(0.0, (clock - opens) / (closes - opens)))


def _day(moment: Moment) -> dt.date:
    return moment.date() if isinstance(moment, dt.datetime) else moment


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
    while (
        words
        and kept != text
        and words[-1].lower() in {"and", "of", "the", "to", "with", "for", "in", "a", "on"}
    ):
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
        strong = ' class="strong"' if len(seen) == 1 else ""
        text = day_words(day).split(" ", 1)[1]
        parts.append(
            f'<path class="grid" d="M{number(x)} 22V{number(bottom)}"/><text x="{number(x + 4)}" y="14"{strong}>{text}</text>'
        )
    return "".join(parts)


def _now(span: Span, bottom: float) -> str:
    if span.now is None or not span.shows(span.now, span.now):
        return ""
    x = number(span.x(span.now))
    return f'<path class="now" d="M{x} 22V{number(bottom)}"><title>now</title></path>'


def _head(lane: Lane, top: float, bottom: float) -> str:
    name = f'<text class="strong" x="0" y="{number(top + 16)}">{escape(whole_words(lane.name, LEFT - 8, 7.2))}</text>'
    note = (
        f'<text class="sm" x="0" y="{number(top + 32)}">{escape(whole_words(lane.note, LEFT - 4, 5.7))}</text>'
        if lane.note
        else ""
    )
    name = f'<a href="{escape(lane.href)}">{name}</a>' if lane.href else name
    return f'<path class="grid" d="M0 {number(bottom)}H{number(WIDTH)}"/>{name}{note}'


def days_words(bar: Bar) -> str:
    """Return the title of a bar that brings none: number, task, from and to."""
    first, last = _day(bar.first), _day(bar.last)
    when = day_words(first) if first == last else f"{day_words(first)} to {day_words(last)}"
    return f"{bar.number} {bar.text}, {when}, {'not accepted yet' if bar.state == 'draft' else bar.state}".strip()


def _bar(span: Span, bar: Bar, top: float, high: float, two_lines: bool) -> str:
    left, right = span.x(bar.first) + 1, span.x(bar.last, after=True) - 1
    width = max(right - left, 3.0)
    look = LOOKS[bar.state]
    ink = {"begun": "onc", "done": "onp"}.get(bar.state, "ink")
    title = escape(bar.title or days_words(bar))
    drawn = (
        f'<rect class="{look}" x="{number(left)}" y="{number(top)}" width="{number(width)}" height="{number(high)}">'
        f"<title>{title}</title></rect>"
    )
    inset = 3.5 if width > 30 else 2
    room = width - 2 * inset + 2
    if two_lines:
        lines = [
            (f"{ink} b", bar.number if len(bar.number) * 6.6 <= room else "", 14),
            (ink, whole_words(bar.text, room), 28),
        ]
    else:
        lines = [(ink, whole_words(bar.text, room), 16)]
    for look_of, text, drop in lines:
        if text:
            drawn += f'<text class="{look_of}" x="{number(left + inset)}" y="{number(top + drop)}">{escape(text)}</text>'
    return f'<a href="{escape(bar.href)}" aria-label="{title}">{drawn}</a>' if bar.href else drawn


def _hatching(span: Span, away: Sequence[Away], lane: str, top: float, high: float) -> str:
    parts = []
    for each in away:
        if each.lane not in ("", lane) or not span.shows(each.first, each.last):
            continue
        left, right = span.x(each.first), span.x(each.last, after=True)
        if right > left:
            title = f"{lane}: {each.words}, {day_words(each.first)} to {day_words(each.last)}"
            parts.append(
                f'<rect class="away-days" x="{number(left)}" y="{number(top)}" width="{number(right - left)}" '
                f'height="{number(high)}"><title>{escape(title)}</title></rect>'
            )
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
    drawn = _mondays(span, bottom)
    shown = [bar for bar in bars if span.shows(bar.first, bar.last)]
    for place, lane in enumerate(lanes):
        top = 34 + 50 * place
        drawn += _head(lane, top - 3, top + 43) + _hatching(span, away, lane.name, top, 38)
        drawn += "".join(_bar(span, bar, top, 38, True) for bar in shown if bar.lane == lane.name)
    description = (
        f"One row for each of {len(lanes)} people, {day_words(span.start)} to {day_words(span.end)}. Filled bars are begun, "
        "outlined bars are planned, dashed ones not accepted yet, hatching is time away. The same plan stands in the table."
    )
    return _svg(
        bottom,
        any(bar.href for bar in shown) or any(lane.href for lane in lanes),
        ident,
        title,
        description,
        drawn + _now(span, bottom),
    )


def _wait(span: Span, wait: Wait, top: float) -> str:
    left, right = span.x(wait.first) + 5, span.x(wait.last, after=True) - 5
    if right - left < 6:
        left, right = left - 3, max(right + 3, left + 3)
    middle = top + 12
    title = escape(
        wait.title
        or f"{wait.words}, {day_words(_day(wait.first))} to {day_words(_day(wait.last))}, needs nobody"
    )
    drawn = f'<path class="stop" d="M{number(left)} {number(middle - 5)}v10M{number(right)} {number(middle - 5)}v10"/>'
    if right - left > 9:
        drawn += f'<path class="wait" d="M{number(left + 4)} {number(middle)}H{number(right - 3)}"/>'
    text = whole_words(wait.words, right - left + 14, 5.6)
    if text:
        drawn += f'<text class="sm" x="{number((left + right) / 2)}" y="{number(top + 35)}" text-anchor="middle">{escape(text)}</text>'
    return f"<g><title>{title}</title>{drawn}</g>"


def _arrival(span: Span, arrival: Arrival, top: float) -> str:
    x = span.x(arrival.date) + 1
    look = "part-in" if arrival.here else "part-mk"
    title = escape(f"{arrival.words}, {'here since' if arrival.here else 'due'} {day_words(arrival.date)}")
    return (
        f'<g><title>{title}</title><path class="{look}" transform="translate({number(x)} {number(top + 39)})" d="{HAMMER}"/>'
        f'<text x="{number(x + 16)}" y="{number(top + 51)}">{escape(arrival.words)}</text></g>'
    )


def _promise(span: Span, promise: Promise, top: float) -> str:
    """Draw chance, promised day and words; what lies beyond the last week is said with an arrow."""
    drawn = ""
    low, high = span.x(promise.low), span.x(promise.high, after=True)
    if promise.low <= span.end and promise.high >= span.start:
        drawn += f'<rect class="chance" x="{number(low)}" y="{number(top + 39)}" width="{number(max(high - low, 4))}" height="18"/>'
    at = span.x(promise.date, after=True)
    inside = span.start <= promise.date <= span.end
    if inside:
        drawn += f'<path class="promise" d="M{number(at)} {number(top + 36)}v24"/>'
    words = promise.words if inside or promise.date < span.start else f"{promise.words} →"
    look = "bad" if promise.late else "strong"
    edge = (
        at - 7
        if inside
        else (WIDTH - 8 if low < WIDTH - 4 - len(words) * 7 or promise.low > span.end else low - 7)
    )
    anchor = "end"
    if edge - len(words) * 6.9 < LEFT:
        edge, anchor = max(at, high) + 7, "start"
    drawn += f'<text class="{look}" x="{number(edge)}" y="{number(top + 52)}" text-anchor="{anchor}">{escape(words)}</text>'
    title = escape(
        f"Promised {day_words(promise.date)}; reached 2 times in 10 by {day_words(promise.low)}, "
        f"8 in 10 by {day_words(promise.high)}"
    )
    return f"<g><title>{title}</title>{drawn}</g>"


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
    drawn = _mondays(span, bottom)
    shown = [bar for bar in bars if span.shows(bar.first, bar.last)]
    for place, lane in enumerate(lanes):
        top = 38 + 78 * place
        drawn += _head(lane, top - 4, top + 66) + _hatching(span, away, lane.name, top, 24)
        drawn += "".join(_bar(span, bar, top, 24, False) for bar in shown if bar.lane == lane.name)
        drawn += "".join(
            _wait(span, each, top)
            for each in waits
            if each.lane == lane.name and span.shows(each.first, each.last)
        )
        drawn += "".join(_promise(span, each, top) for each in promises if each.lane == lane.name)
        drawn += "".join(
            _arrival(span, each, top)
            for each in arrivals
            if each.lane == lane.name and span.shows(each.date, each.date)
        )
    description = (
        "Upper lane of each row: bars are work by a person; dotted lines between two stops are waits that need nobody. "
        "Lower lane: hammer marks show when parts arrive, a thick line is the promised day, and the cream band runs from the day "
        "reached 2 times in 10 to the day reached 8 times in 10. The same rows stand in the table."
    )
    linked = any(bar.href for bar in shown) or any(lane.href for lane in lanes)
    return _svg(bottom, linked, ident, title, description, drawn + _now(span, bottom))

"""What a timeline shows: rows in plain words, and where a day lies on the drawing."""

import datetime as dt
from dataclasses import dataclass, field

Moment = dt.date | dt.datetime
WIDTH, LEFT = 1160.0, 112.0


@dataclass(frozen=True)
class Lane:
    """One row: a person with what they do, or an instrument's number with its name."""

    name: str
    note: str = ""
    href: str = ""


@dataclass(frozen=True)
class Bar:
    """Work by a person, first to last day or moment, both included; begun, planned, draft or done.

    ``lane`` is a lane's name; ``number`` the instrument's; ``title`` says the same in words for
    those who point or listen.
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
    """A promised day; where futures were worked out, the days reached 2 in 10 (``low``) and 8 in 10 (``high``)."""

    lane: str
    date: dt.date
    low: dt.date | None
    high: dt.date | None
    words: str
    late: bool = False


@dataclass(frozen=True)
class Span:
    """The days a drawing shows: ``weeks`` weeks from a Monday, only ``workdays`` (Monday 0).

    Moments within a day are placed between ``opens`` and ``closes``.
    """

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
        return day_of(last) >= self.start and day_of(first) <= self.end

    def x(self, moment: Moment, after: bool = False) -> float:
        """Return where a moment lies; a date is the morning of its day, or its evening when ``after``.

        What falls on a closed day lies at the next working morning; what lies outside, at the edge.
        """
        day = day_of(moment)
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


def day_of(moment: Moment) -> dt.date:
    """Return the day of a day or of a moment."""
    return moment.date() if isinstance(moment, dt.datetime) else moment

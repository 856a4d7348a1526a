"""Reading standard project files: PSPLIB ``.sm`` (single mode) and Patterson text, told apart by content.

PSPLIB: sections with headings between lines of asterisks (Kolisch and Sprecher, European Journal of
Operational Research 96, 1996). Patterson: numbers only. The count of activities and of resources, the
capacities, then for each activity its duration, its demands, the count of its followers and their numbers;
line breaks mean nothing (Patterson, Management Science 30, 1984; layout read from files of the kind).
"""

import re
from collections.abc import Callable
from pathlib import PurePath

from jobs.scheduling.calc.standard.problem import StandardProject, UnusableProject, check_project

MOST_ACTIVITIES = 20_000
_SECTION = re.compile(r"^\s*(PRECEDENCE RELATIONS|REQUESTS/DURATIONS|RESOURCEAVAILABILITIES)\s*:", re.IGNORECASE)
_COUNT = re.compile(r"^\s*(jobs|-\s*renewable|-\s*nonrenewable|-\s*doubly constrained)\b.*?:\s*(\S+)", re.IGNORECASE)


class UnreadableProject(ValueError):
    """A file that cannot be read. ``line``: where, counted from 1; 0 when it concerns the whole file."""

    def __init__(self, sentence: str, line: int = 0) -> None:
        self.line = line
        super().__init__(f"line {line}: {sentence}" if line else sentence)


def project_read(text: str, name: str) -> StandardProject:
    """The project written in ``text``. ``name``: file name, of which the stem is kept.

    Raises UnreadableProject with the line and what is wrong with it.
    """
    if not text.strip():
        raise UnreadableProject("the file is empty.")
    lines = text.splitlines()
    psplib = any(_SECTION.match(line) for line in lines)
    stem = PurePath(name).stem
    project = _psplib(lines, stem) if psplib else _patterson(lines, stem)
    try:
        check_project(project)
    except UnusableProject as error:
        raise UnreadableProject(str(error)) from error
    return project


class _Words:
    """The numbers of some lines, one after the other, with the line each stands on."""

    def __init__(self, lines: list[str]) -> None:
        self.found = [(word, number) for number, line in enumerate(lines, 1) for word in line.split()]
        self.place = 0
        self.end = max(len(lines), 1)

    def whole(self, what: str, least: int = 0, most: int | None = None) -> int:
        """The next word as a whole number within bounds."""
        if self.place == len(self.found):
            raise UnreadableProject(f"the file ends where {what} should stand.", self.end)
        word, line = self.found[self.place]
        self.place += 1
        return whole_number(word, line, what, least, most)

    @property
    def line(self) -> int:
        """The line of the word read last."""
        return self.found[self.place - 1][1]


def whole_number(word: str, line: int, what: str, least: int, most: int | None) -> int:
    """``word`` as a whole number from ``least`` to ``most``; raises UnreadableProject."""
    if not re.fullmatch(r"[+-]?\d{1,12}", word):
        raise UnreadableProject(f"“{word[:20]}” stands where {what} should be, a whole number.", line)
    value = int(word)
    if value < least:
        raise UnreadableProject(f"{what} is {value}; it must be {least} or more.", line)
    if most is not None and value > most:
        raise UnreadableProject(f"{what} is {value}; it must be {most} or less.", line)
    return value


def _patterson(lines: list[str], name: str) -> StandardProject:
    words = _Words(lines)
    size = words.whole("the count of activities", 1, MOST_ACTIVITIES)
    resources = words.whole("the count of resources", 0, 1000)
    capacities = tuple(words.whole(f"the capacity of resource {one}") for one in range(1, resources + 1))
    durations, demands, followers = [], [], []
    for number in range(1, size + 1):
        durations.append(words.whole(f"the duration of activity {number}"))
        demands.append(
            tuple(words.whole(f"the need of activity {number} for resource {one}") for one in range(1, resources + 1))
        )
        count = words.whole(f"the count of followers of activity {number}", 0, size)
        followers.append(tuple(words.whole(f"a follower of activity {number}", 1, size) for _ in range(count)))
        _no_own_follower(number, followers[-1], words.line)
    if words.place < len(words.found):
        word, line = words.found[words.place]
        raise UnreadableProject(f"“{word[:20]}” stands after the last activity, number {size}.", line)
    return StandardProject(name, tuple(durations), tuple(demands), tuple(followers), capacities)


def _no_own_follower(number: int, followers: tuple[int, ...], line: int) -> None:
    if number in followers:
        raise UnreadableProject(f"activity {number} is named as its own follower.", line)


Row = tuple[int, list[str]]
"""A line's number and its words."""


def _psplib(lines: list[str], name: str) -> StandardProject:
    counts = _psplib_counts(lines)
    size, resources = counts["jobs"], counts["renewable"]
    sections = _sections(lines)
    links, requests = sections["PRECEDENCE RELATIONS"], sections["REQUESTS/DURATIONS"]
    followers = _by_number(links, size, lambda number, row: _followers(number, row, size))
    wants = _by_number(requests, size, lambda number, row: _requests(number, row, resources))
    return StandardProject(
        name,
        tuple(want[0] for want in wants),
        tuple(want[1:] for want in wants),
        tuple(followers),
        _capacities(sections["RESOURCEAVAILABILITIES"], resources),
    )


def _psplib_counts(lines: list[str]) -> dict[str, int]:
    """How many jobs and resources the heading says there are; only renewable resources are read."""
    counts = {"jobs": 0, "renewable": 0, "nonrenewable": 0, "doubly constrained": 0}
    for number, line in enumerate(lines, 1):
        found = _COUNT.match(line)
        if found:
            what = found.group(1).lower().lstrip("- ").strip()
            counts[what] = whole_number(found.group(2), number, f"the count of “{what}”", 0, MOST_ACTIVITIES)
            if counts[what] and what in ("nonrenewable", "doubly constrained"):
                raise UnreadableProject(f"it has {what} resources; only renewable ones can be planned.", number)
    if not counts["jobs"]:
        raise UnreadableProject("the heading does not say how many jobs there are.")
    return counts


def _sections(lines: list[str]) -> dict[str, list[Row]]:
    """The rows under each heading, up to the next line of asterisks."""
    sections: dict[str, list[Row]] = {}
    current: list[Row] | None = None
    for number, line in enumerate(lines, 1):
        found = _SECTION.match(line)
        if found:
            current = sections[found.group(1).upper()] = [(number, line.split())]
        elif line.lstrip().startswith("*"):
            current = None
        elif current is not None and line.strip() and not line.lstrip().startswith("-"):
            current.append((number, line.split()))
    for heading in ("PRECEDENCE RELATIONS", "REQUESTS/DURATIONS", "RESOURCEAVAILABILITIES"):
        if heading not in sections:
            raise UnreadableProject(f"the section “{heading}” is missing.")
        if len(sections[heading]) < 3:
            raise UnreadableProject(f"the section “{heading}” is empty.", sections[heading][0][0])
    return sections


def _by_number(section: list[Row], size: int, read: Callable[[int, Row], tuple[int, ...]]) -> list[tuple[int, ...]]:
    """What each row says, in the order of the activities' numbers; every number stands there once."""
    found: dict[int, tuple[int, ...]] = {}
    for line, words in section[2:]:
        number = whole_number(words[0], line, "an activity’s number", 1, size)
        if number in found:
            raise UnreadableProject(f"activity {number} stands there twice.", line)
        found[number] = read(number, (line, words[1:]))
    for number in range(1, size + 1):
        if number not in found:
            raise UnreadableProject(f"activity {number} is missing above.", section[-1][0])
    return [found[number] for number in range(1, size + 1)]


def _followers(number: int, row: Row, size: int) -> tuple[int, ...]:
    line, words = row
    if len(words) < 2:
        raise UnreadableProject(f"activity {number} lacks its count of modes or of followers.", line)
    whole_number(words[0], line, f"the count of modes of activity {number} (single mode only)", 1, 1)
    count = whole_number(words[1], line, f"the count of followers of activity {number}", 0, size)
    named = tuple(whole_number(word, line, f"a follower of activity {number}", 1, size) for word in words[2:])
    if len(named) != count:
        raise UnreadableProject(f"activity {number} should name {count} followers and names {len(named)}.", line)
    _no_own_follower(number, named, line)
    return named


def _requests(number: int, row: Row, resources: int) -> tuple[int, ...]:
    """Duration and needs of one activity."""
    line, words = row
    if len(words) != 2 + resources:
        raise UnreadableProject(
            f"activity {number} should have a mode, a duration and {resources} needs, {2 + resources} numbers; "
            f"there are {len(words)}.",
            line,
        )
    whole_number(words[0], line, f"the mode of activity {number} (single mode only)", 1, 1)
    return tuple(whole_number(word, line, f"a duration or need of activity {number}", 0, None) for word in words[1:])


def _capacities(section: list[Row], resources: int) -> tuple[int, ...]:
    line, words = section[2]
    if len(words) != resources:
        raise UnreadableProject(f"there should be {resources} capacities; there are {len(words)}.", line)
    return tuple(
        whole_number(word, line, f"the capacity of resource {one}", 0, None) for one, word in enumerate(words, 1)
    )

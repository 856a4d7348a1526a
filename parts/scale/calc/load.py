"""What all strings together ask of the frame, and how evenly they share it. Forces in newtons."""

from collections.abc import Iterable
from dataclasses import dataclass

# Sane totals: a technician's page gives 16 to 18 short tons for some 230 strings at 130 to 220 lbf, others
# "about 20 tons". The bounds themselves are common practice, no source.
ORDINARY_LOAD_N = (150_000.0, 200_000.0)  # an upright or a medium grand
CONCERT_GRAND_LOAD_N = (200_000.0, 270_000.0)


@dataclass(frozen=True)
class NoteStrings:
    """The strings of one note: key number, tension of each string in newtons, number of strings."""

    key: int
    tension_n: float
    strings: int

    def __post_init__(self) -> None:
        if self.tension_n <= 0 or self.strings < 1:
            raise ValueError(
                f"Key {self.key} has {self.strings} strings at {self.tension_n:g} N: "
                "a note needs at least one string, under tension."
            )


def total_load(notes: Iterable[NoteStrings]) -> float:
    """Return the sum of all string tensions in newtons.

    Raises ValueError when a key comes twice, which would count its strings twice.
    """
    seen: set[int] = set()
    load = 0.0
    for note in notes:
        if note.key in seen:
            raise ValueError(f"Key {note.key} is given twice: its strings would count twice.")
        seen.add(note.key)
        load += note.tension_n * note.strings
    return load


def tension_jump(last_wound_n: float, first_plain_n: float) -> float:
    """Return the jump across the break in per cent of the wound side.

    Positive when the plain string is tighter. Takes the tension of one string on either side, in newtons.
    Raises ValueError for a tension not above nought.
    """
    if last_wound_n <= 0 or first_plain_n <= 0:
        raise ValueError("Both strings at the break need a tension above nought to compare them.")
    return (first_plain_n / last_wound_n - 1) * 100

"""Key numbers and note names.

Keys are counted as on a modern keyboard: 1 is A0, 49 is A4, 88 is C8. Extended old compasses go on
downwards through 0 and below (−8 is C0), so a number always means the same pitch class and octave
on every instrument. Note names follow scientific pitch notation (A4 = key 49).
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass

_NAMES = ("C", "C♯", "D", "D♯", "E", "F", "F♯", "G", "G♯", "A", "A♯", "B")
_STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_PATTERN = re.compile(r"^\s*([A-Ga-g])\s*([#♯b♭]?)\s*(-?\d)\s*$")

LOWEST_KEY = -8  # C0, the lowest note of a 97-key compass
HIGHEST_KEY = 88  # C8
FEWEST_KEYS = 49
MOST_KEYS = 97


def key_name(key: int) -> str:
    """Return the note name of a key number, e.g. 49 -> "A4", 2 -> "A♯0"."""
    semitones = key + 8  # from C0
    return f"{_NAMES[semitones % 12]}{semitones // 12}"


def is_sharp(key: int) -> bool:
    """Tell whether the key is one of the five raised keys of its octave."""
    return len(_NAMES[(key + 8) % 12]) == 2


def key_number(text: str) -> int:
    """Return the key number of a note name or of a plain number.

    Accepts "A4", "a#3", "A♯3", "Bb3" and "48". Raises ValueError with a sentence when the text is neither.
    """
    plain = text.strip()
    if re.fullmatch(r"-?\d{1,3}", plain):
        return int(plain)
    match = _PATTERN.match(plain)
    if not match:
        raise ValueError(f"“{plain}” is not a note. Write a name such as A4 or C♯5, or a key number such as 49.")
    letter, sign, octave = match.groups()
    shift = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1}[sign]
    return _STEPS[letter.upper()] + shift + 12 * int(octave) - 8


@dataclass(frozen=True)
class Compass:
    """The keys of one instrument, first and last included, with the break and the frame bars.

    ``last_wound`` is the highest key with wound strings (None if unknown); ``bars_above`` are the keys
    that have a frame bar directly above them.
    """

    first: int
    last: int
    last_wound: int | None = None
    bars_above: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        if not LOWEST_KEY <= self.first < self.last <= HIGHEST_KEY:
            raise ValueError(
                f"A compass from key {self.first} to {self.last} is not possible: the first key lies between "
                f"{LOWEST_KEY} (C0) and the last, the last at most at {HIGHEST_KEY} (C8)."
            )
        if len(self) < FEWEST_KEYS:
            raise ValueError(f"{len(self)} keys are too few for a piano: at least {FEWEST_KEYS}.")

    def __len__(self) -> int:
        return self.last - self.first + 1

    def __iter__(self) -> Iterator[int]:
        return iter(range(self.first, self.last + 1))

    def __contains__(self, key: object) -> bool:
        return isinstance(key, int) and self.first <= key <= self.last

    def position(self, key: int) -> int:
        """Return the place of a key counted from the left of this instrument, the lowest being 1.

        Raises ValueError when the key is outside the compass.
        """
        if key not in self:
            raise ValueError(
                f"{key_name(key)} (key {key}) is outside this instrument’s compass, "
                f"{key_name(self.first)} to {key_name(self.last)}."
            )
        return key - self.first + 1

    def words(self) -> str:
        """Return the compass in words, e.g. "85 notes, A0 to A7"."""
        return f"{len(self)} notes, {key_name(self.first)} to {key_name(self.last)}"

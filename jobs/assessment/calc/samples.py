"""Which notes to read: sets of sample notes over an instrument's own compass, and the next one of them.

The sets are common practice, no source: quick takes eight notes spread over the compass, standard every C, F♯ and
A, all every note. Each set holds the ends of the compass and both sides of the break and of every frame bar, where
trouble sits.
"""

from collections.abc import Collection, Sequence

from workshop.keyboard.calc.notes import Compass, key_name

QUICK = (1, 16, 28, 40, 52, 64, 76, 88)
SETS = {"quick": "quick sample", "standard": "standard sample", "all": "all notes"}
_STANDARD_NAMES = {"C", "F♯", "A"}


def sample_keys(compass: Compass, which: str) -> tuple[int, ...]:
    """Return the keys of a set, lowest first: "quick", "standard" or "all". Raises ValueError for another name."""
    if which == "all":
        return tuple(compass)
    if which == "quick":
        chosen = {key for key in QUICK if key in compass}
    elif which == "standard":
        chosen = {key for key in compass if key_name(key).rstrip("-0123456789") in _STANDARD_NAMES}
    else:
        raise ValueError(f"There is no sample “{which}”: take quick, standard or all.")
    edges = [key for key in (compass.last_wound, *compass.bars_above) if key is not None]
    sides = {key for edge in edges for key in (edge, edge + 1) if key in compass}
    return tuple(sorted(chosen | sides | {compass.first, compass.last}))


def next_key(keys: Sequence[int], read: Collection[int], after: int | None = None) -> int | None:
    """Return the first key of a set above ``after`` that is not read yet, else the lowest such key, else None."""
    waiting = [key for key in keys if key not in read]
    if not waiting:
        return None
    return next((key for key in waiting if after is None or key > after), waiting[0])


def key_before(keys: Sequence[int], key: int) -> int | None:
    """Return the nearest key of a set below ``key``, or None."""
    return max((each for each in keys if each < key), default=None)

"""Before and after: pairs of readings against what was agreed."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from workshop.calendar.words import count_words


@dataclass(frozen=True)
class Pair:
    """One note of one measure: the first reading, the final one, and whether it meets the target.

    ``met`` is None where nothing was read at the end; ``because`` says why, where it was said.
    """

    key: int
    before: float | None
    after: float | None
    met: bool | None
    because: str = ""


@dataclass(frozen=True)
class MeasureProof:
    """One measure of a proof: its target and its pairs along the compass."""

    code: str
    name: str
    unit: str
    low: float | None
    high: float | None
    pairs: tuple[Pair, ...]

    @property
    def read(self) -> tuple[Pair, ...]:
        """Return the pairs with a final reading."""
        return tuple(pair for pair in self.pairs if pair.after is not None)

    @property
    def met(self) -> int:
        """Return how many final readings meet the target."""
        return sum(1 for pair in self.pairs if pair.met)

    @property
    def met_before(self) -> int:
        """Return how many of the first readings would have met it."""
        return sum(1 for pair in self.pairs if pair.before is not None and meets(pair.before, self.low, self.high))

    @property
    def read_before(self) -> int:
        """Return how many first readings there are."""
        return sum(1 for pair in self.pairs if pair.before is not None)

    @property
    def failing(self) -> tuple[Pair, ...]:
        """Return the pairs that do not meet the target."""
        return tuple(pair for pair in self.pairs if pair.met is False)

    @property
    def open_keys(self) -> tuple[int, ...]:
        """Return the keys read at first, not read at the end, and nobody said why."""
        return tuple(pair.key for pair in self.pairs if pair.after is None and not pair.because)

    @property
    def target_words(self) -> str:
        """Return the target in words, e.g. "46 to 54 g"."""
        unit = f" {self.unit}" if self.unit else ""
        if self.low is None and self.high is None:
            return "no target"
        if self.low is None:
            return f"at most {self.high:g}{unit}"
        if self.high is None:
            return f"at least {self.low:g}{unit}"
        return f"{self.low:g} to {self.high:g}{unit}"

    @property
    def sentence(self) -> str:
        """Return what was achieved, e.g. "Down weight: 83 of 85 readings lie at 46 to 54 g; before it was 42"."""
        if not self.read:
            return f"{self.name}: not read again yet."
        lie = "lies" if len(self.read) == 1 else "lie"
        before = f"; before it was {self.met_before} of {self.read_before}" if self.read_before else ""
        return f"{self.name}: {self.met} of {len(self.read)} readings {lie} at {self.target_words}{before}."


def meets(value: float, low: float | None, high: float | None) -> bool:
    """Tell whether a value lies within a target, its ends included; an open end always holds."""
    return (low is None or value >= low) and (high is None or value <= high)


def pair_up(
    before: Mapping[int, float],
    after: Mapping[int, float],
    because: Mapping[int, str],
    *,
    low: float | None,
    high: float | None,
) -> tuple[Pair, ...]:
    """Return the pairs of one measure by key; ``because``: key -> why it was not measured at the end."""
    pairs = []
    for key in sorted({*before, *after, *because}):
        value = after.get(key)
        met = None if value is None else meets(value, low, high)
        pairs.append(Pair(key, before.get(key), value, met, because.get(key, "")))
    return tuple(pairs)


def proof_sentence(proofs: Sequence[MeasureProof]) -> str:
    """Return the sentence a proof begins with."""
    read = sum(len(proof.read) for proof in proofs)
    if not read:
        return "Nothing has been read again yet."
    met = sum(proof.met for proof in proofs)
    if met == read:
        return f"All {read} final readings meet what was agreed."
    left = read - met
    return (
        f"{met} of {read} final readings meet what was agreed; {count_words(left)} {'does' if left == 1 else 'do'} not."
    )


def totals(proofs: Iterable[MeasureProof]) -> tuple[int, int]:
    """Return how many final readings meet their target, and how many there are."""
    rows = list(proofs)
    return sum(proof.met for proof in rows), sum(len(proof.read) for proof in rows)

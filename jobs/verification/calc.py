"""Before and after: pairs of readings against what was agreed."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from workshop.calendar.words import count_words

# What is counted and what it does, for measures an owner speaks of in other words than "notes read".
SAID_OF = {
    "down-weight": ("keys", "now weigh", "now weighs"),
    "up-weight": ("keys", "now return with", "now returns with"),
    "dip": ("keys", "now go down", "now goes down"),
    "groove": ("hammers", "are now cut", "is now cut"),
    "blow": ("hammers", "now travel", "now travels"),
    "pin-torque": ("wrest pins", "now hold with", "now holds with"),
    "pitch-off": ("notes", "now lie", "now lies"),
}
USUAL = ("notes", "now read", "now reads")
PLURALS = {"cent": "cents"}


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

    @property
    def before_words(self) -> str:
        """Return the first reading in figures, or a dash."""
        return figure_or_dash(self.before)

    @property
    def after_words(self) -> str:
        """Return the final reading in figures, or a dash."""
        return figure_or_dash(self.after)


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
        """Return the target in words, e.g. "between 46 and 54 g"."""
        unit = f" {PLURALS.get(self.unit, self.unit)}" if self.unit else ""
        if self.low is not None and self.high is not None:
            if self.low == self.high:
                return f"at {figure(self.low)}{unit}"
            return f"between {figure(self.low)} and {figure(self.high)}{unit}"
        if self.low is not None:
            return f"at least {figure(self.low)}{unit}"
        return "no target" if self.high is None else f"at most {figure(self.high)}{unit}"

    @property
    def sentence(self) -> str:
        """Return what was achieved: "83 of 85 keys now weigh between 46 and 54 g; before it was 42."."""
        if not self.read:
            return "Not read again yet."
        count, many, one = SAID_OF.get(self.code, USUAL)
        before = ""
        if self.read_before:
            of = "" if self.read_before == len(self.read) else f" of {self.read_before}"
            before = f"; before it was {self.met_before or 'none'}{of}"
        says = one if self.met == 1 else many
        return f"{self.met or 'None'} of {len(self.read)} {count} {says} {self.target_words}{before}."


def figure(value: float) -> str:
    """Return a reading or a limit as it was kept, without noughts it does not need and with a true minus."""
    return f"{value:.3f}".rstrip("0").rstrip(".").replace("-", "−")


def figure_or_dash(value: float | None) -> str:
    """Return a reading in figures, or a dash where there is none."""
    return "–" if value is None else figure(value)


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
    """Return the sentence a proof begins with: of its one measure, or of all together."""
    read = [proof for proof in proofs if proof.read]
    if not read:
        return "Nothing has been read again yet."
    if len(proofs) == 1:
        return read[0].sentence
    met, count = totals(proofs)
    fails = count - met
    end = "all of them" if not fails else f"{count_words(fails)} {'does' if fails == 1 else 'do'} not"
    first = sum(proof.read_before for proof in read)
    before = f" Before the work it was {sum(p.met_before for p in read) or 'none'} of {first}." if first else ""
    return f"{met} of {count} final readings meet what was agreed; {end}.{before}"


def totals(proofs: Iterable[MeasureProof]) -> tuple[int, int]:
    """Return how many final readings meet their target, and how many there are."""
    rows = list(proofs)
    return sum(proof.met for proof in rows), sum(len(proof.read) for proof in rows)

"""Pitch: cents, beats, and what a pitch raise asks of the strings.

Offsets are in cents from the pitch aimed at, flat being negative. Keys are numbered as in
``workshop.keyboard.calc.notes`` (49 is A4). Frequencies in hertz.
"""

from dataclasses import dataclass
from math import log2

from workshop.keyboard.calc.notes import key_name

STANDARD_A4_HZ = 440.0  # ISO 16:1975
# Pitches an old instrument may have been built for: the French pitch of 1859, and about the British "old
# philharmonic" of the late 19th century. Published from memory, histories of pitch.
OLD_A4_HZ = (435.0, 452.5)

OVERPULL_SHARE = 0.25  # of the measured flatness; a technicians' list, August 2002, 0.20 to 0.30 usual
MOST_OVERPULL_SHARE = 0.40  # common practice, no source
# A raised string falls back 0.25 to 0.35 of the raise on the treble bridge (about 0.10 on the bass bridge):
# a tuner's page on pitch correction; an older rule in a technicians' list, January 2000, says 0.33.
FALL_BACK_SHARE = 0.30
ONE_PASS_CENTS = 5.0  # common practice, no source
THREE_PASS_CENTS = 20.0  # a technicians' list, January 2000: beyond about this expect three passes
PITCH_FIRST_CENTS = 50.0  # the same list: flatter than this, the first pass goes only to pitch


@dataclass(frozen=True)
class Pass:
    """One pass over all strings: where to leave each string, and where it is expected to settle (cents)."""

    aim_cents: float
    expected_cents: float


@dataclass(frozen=True)
class RaisePlan:
    """The passes that bring an instrument to pitch, what they add to the tension, and when to stop.

    ``tension_ratio`` is the tension at the end over the tension now, for every string. ``agree_first`` says
    that a limit must be agreed with the owner before the first pass.
    """

    passes: tuple[Pass, ...]
    tension_ratio: float
    agree_first: bool
    stop_rule: str


def key_frequency(key: int, a4_hz: float = STANDARD_A4_HZ) -> float:
    """Return the equal-tempered frequency of a key in Hz: ``a4 * 2^((key - 49) / 12)``.

    Inharmonicity and stretch are left out. Raises ValueError for a pitch not above nought.
    """
    if not a4_hz > 0:
        raise ValueError(f"The pitch of A4 must be above nought; it is {a4_hz:g} Hz.")
    return float(a4_hz * 2 ** ((key - 49) / 12))


def cents_between(frequency_hz: float, reference_hz: float) -> float:
    """Return how many cents a frequency lies above a reference: ``1200 log2(f / reference)``.

    Raises ValueError for a frequency not above nought.
    """
    if not (frequency_hz > 0 and reference_hz > 0):
        raise ValueError("A frequency must be above nought to be compared with another.")
    return 1200 * log2(frequency_hz / reference_hz)


def beats_at(cents: float, key: int, a4_hz: float = STANDARD_A4_HZ) -> float:
    """Return the beats per second of a key's fundamental with one ``cents`` away; negative when flat."""
    reference = key_frequency(key, a4_hz)
    return float(reference * 2 ** (cents / 1200) - reference)


def cents_from_beats(beats_per_s: float, key: int, a4_hz: float = STANDARD_A4_HZ) -> float:
    """Return the cents of a beat rate heard at a key's fundamental; flat is negative in both.

    About four cents a beat at A4 only: the cents of one beat halve with each octave up (a technicians' list,
    January 2000, and the formula). Raises ValueError when the beats would take the note to nothing.
    """
    reference = key_frequency(key, a4_hz)
    if beats_per_s <= -reference:
        raise ValueError(
            f"{abs(beats_per_s):g} beats per second flat is not possible at {key_name(key)}, "
            f"which is {reference:.1f} Hz: look at the figure again."
        )
    return cents_between(reference + beats_per_s, reference)


def overpull_cents(offset_cents: float, share: float = OVERPULL_SHARE) -> float:
    """Return how far above pitch to leave a string measured at ``offset_cents``: a share of its flatness.

    Nought for a string at or above pitch. Raises ValueError for a share outside 0 to 0.4.
    """
    if not 0 <= share <= MOST_OVERPULL_SHARE:
        raise ValueError(
            f"An overpull of {share:.0%} is not usual: give 0 to {MOST_OVERPULL_SHARE:.0%} of the flatness."
        )
    return max(0.0, -offset_cents) * share


def tension_ratio(cents_up: float) -> float:
    """Return what raising by ``cents_up`` multiplies a string's tension by: ``2^(cents / 600)``."""
    return float(2 ** (cents_up / 600))


def raise_plan(
    offset_cents: float, *, old_wire: bool, share: float = OVERPULL_SHARE, limit_cents: float | None = None
) -> RaisePlan:
    """Return the passes from ``offset_cents`` to pitch and the rule for stopping.

    ``old_wire``: rust, tight coils or strings that broke before; then a limit is agreed first (common
    practice, no source). ``limit_cents`` is the flatness agreed to stop at, e.g. -50; the plan then goes only
    so far. Each pass measures afresh: the offsets after the first are what to expect, not readings. Raises
    ValueError for a limit above pitch or a share outside 0 to 0.4.
    """
    goal = 0.0 if limit_cents is None else limit_cents
    if goal > 0:
        raise ValueError(f"A limit of {goal:g} cents lies above pitch: agree on pitch or below it.")
    goal = max(goal, min(offset_cents, 0.0))
    below = offset_cents - goal
    passes = []
    for number in range(_passes_needed(below)):
        to_pitch_only = number == 0 and -below > PITCH_FIRST_CENTS
        aim = 0.0 if to_pitch_only else overpull_cents(below, share)
        settled = aim + FALL_BACK_SHARE * min(0.0, below)
        passes.append(Pass(aim + goal, settled + goal))
        below = settled
    return RaisePlan(tuple(passes), tension_ratio(goal - offset_cents), old_wire, _stop_rule(old_wire, limit_cents))


def _passes_needed(below: float) -> int:
    if abs(below) <= ONE_PASS_CENTS:
        return 1
    if below >= -THREE_PASS_CENTS:
        return 2
    return 3


def _stop_rule(old_wire: bool, limit_cents: float | None) -> str:
    caution = "Wear eye protection and keep faces out of the plane of the strings."
    if limit_cents is not None:
        return (
            f"Stop at {abs(limit_cents):g} cents flat as agreed, and at the second broken string. {caution}"
            if limit_cents
            else f"Go to pitch as agreed, and stop at the second broken string. {caution}"
        )
    if old_wire:
        return f"This wire is old: agree a limit with the owner before the first pass. {caution}"
    return f"Stop and ask when a second string breaks. {caution}"

"""Units of readings: what was said on the bench into what is kept, and back.

A unit is written as in the catalogue of measures: mm, cm, in, thou; degC, degF; g, oz; N.m, in-lb; cent,
semitone, Hz, beat/s; and units that stand alone (%, count, s, ...).
"""

from dataclasses import dataclass

from jobs.assessment.calc.pitch import (
    STANDARD_A4_HZ,
    beats_at,
    cents_between,
    cents_from_beats,
    key_frequency,
)


@dataclass(frozen=True)
class _Scale:
    """A unit as ``base = reading * factor + offset``; exact by definition of inch, ounce and pound-force."""

    kind: str
    factor: float
    offset: float = 0.0


_SCALES = {
    "mm": _Scale("a length", 1.0),
    "cm": _Scale("a length", 10.0),
    "in": _Scale("a length", 25.4),
    "thou": _Scale("a length", 0.0254),
    "degC": _Scale("a temperature", 1.0),
    "degF": _Scale("a temperature", 5 / 9, -160 / 9),
    "g": _Scale("a weight", 1.0),
    "oz": _Scale("a weight", 28.349523125),
    "N.m": _Scale("a torque", 1.0),
    "in-lb": _Scale("a torque", 0.1129848290276167),
}
_PITCH_UNITS = ("cent", "semitone", "Hz", "beat/s")


def fitting_units(unit: str) -> tuple[str, ...]:
    """Return the units a reading kept in ``unit`` may be given in, the unit itself among them."""
    if unit in _PITCH_UNITS:
        return _PITCH_UNITS
    if unit in _SCALES:
        return tuple(name for name, scale in _SCALES.items() if scale.kind == _SCALES[unit].kind)
    return (unit,)


def convert(value: float, unit: str, to: str, *, key: int | None = None, a4_hz: float = STANDARD_A4_HZ) -> float:
    """Return ``value`` given in ``unit`` as a value in ``to``.

    Pitch readings are offsets from the key's own pitch at ``a4_hz``, flat being negative; "Hz" is the
    frequency itself. Hertz and beats mean nothing without the ``key`` they were heard at. Raises ValueError
    with a sentence when a unit does not fit, the key is missing, or the reading is not possible.
    """
    if to not in fitting_units(unit):
        raise ValueError(_misfit(unit, to))
    if unit == to:
        return value
    if unit in _PITCH_UNITS:
        return _from_cents(_to_cents(value, unit, key, a4_hz), to, key, a4_hz)
    source, target = _SCALES[unit], _SCALES[to]
    return (value * source.factor + source.offset - target.offset) / target.factor


def _to_cents(value: float, unit: str, key: int | None, a4_hz: float) -> float:
    match unit:
        case "cent":
            return value
        case "semitone":
            return value * 100
        case "Hz":
            return cents_between(value, key_frequency(_known(key, unit), a4_hz))
        case _:
            return cents_from_beats(value, _known(key, unit), a4_hz)


def _from_cents(cents: float, to: str, key: int | None, a4_hz: float) -> float:
    match to:
        case "cent":
            return cents
        case "semitone":
            return cents / 100
        case "Hz":
            heard_at = _known(key, to)
            return key_frequency(heard_at, a4_hz) + beats_at(cents, heard_at, a4_hz)
        case _:
            return beats_at(cents, _known(key, to), a4_hz)


def _known(key: int | None, unit: str) -> int:
    if key is None:
        raise ValueError(f"A pitch in {unit} needs the note it was heard at: add one, such as A4.")
    return key


def _misfit(unit: str, to: str) -> str:
    fitting = fitting_units(to)
    if len(fitting) == 1:
        return f"A reading in “{unit}” does not fit this measure: it is kept in {to} and read in nothing else."
    listed = f"{', '.join(fitting[:-1])} or {fitting[-1]}"
    return f"A reading in “{unit}” does not fit this measure. Give it in {listed}."

"""A number as it is typed at the bench, with a comma or a point, with or without its unit: into the unit kept."""

import re
from decimal import ROUND_HALF_UP, Decimal

from jobs.assessment.calc.units import convert

PLACES = Decimal("0.001")
MOST = Decimal(1_000_000)
_TYPED = re.compile(r"^([+-]?(?:\d{1,9}(?:[.,]\d{0,9})?|[.,]\d{1,9}))\s*(.*)$", re.DOTALL)
_SAID = {
    "gram": "g",
    "grams": "g",
    "ounce": "oz",
    "ounces": "oz",
    "inch": "in",
    "inches": "in",
    '"': "in",
    "″": "in",
    "millimetre": "mm",
    "millimetres": "mm",
    "cents": "cent",
    "ct": "cent",
    "semitones": "semitone",
    "hertz": "Hz",
    "hz": "Hz",
    "beats": "beat/s",
    "nm": "N.m",
    "n.m": "N.m",
    "n·m": "N.m",
    "in lb": "in-lb",
    "°c": "degC",
    "c": "degC",
    "°f": "degF",
    "f": "degF",
    "seconds": "s",
    "sec": "s",
    "degrees": "deg",
    "°": "deg",
    "swings": "swing",
    "percent": "%",
    "per cent": "%",
    "rh": "%RH",
    "% rh": "%RH",
}
# Steps of the minus and plus buttons; a gauge is read no finer (common practice, no source).
_STEPS = {
    "mm": "0.1",
    "deg": "0.1",
    "N.m": "0.5",
    "s": "0.5",
    "share": "0.1",
    "degC": "0.5",
    "%": "0.5",
}
_FINE = {"wire-dia": "0.01", "pin-dia": "0.01", "speak-len": "1", "blow": "0.5", "check-dist": "0.5"}
_NEVER_NEGATIVE = {"g", "s", "count", "swing", "note/s", "N.m", "share", "%", "%RH", "key"}
_WHOLE = {"count", "key", "swing"}
UNIT_WORDS = {
    "g": "grams",
    "mm": "millimetres",
    "cent": "cents",
    "N.m": "N·m",
    "s": "seconds",
    "deg": "degrees",
    "degC": "°C",
    "%RH": "% RH",
    "%": "per cent",
    "count": "count",
    "swing": "swings",
    "note/s": "notes a second",
    "share": "share of the travel, 0 to 1",
    "key": "key number",
}
SHORT_UNITS = {
    "cent": "cents",
    "N.m": "N·m",
    "deg": "°",
    "degC": "°C",
    "degF": "°F",
    "%RH": "% RH",
    "swing": "swings",
    "count": "",
    "note/s": "notes/s",
}


def short_unit(unit: str) -> str:
    """Return a unit as it stands after a number: "N·m" for N.m, "°C" for degC; others stay."""
    return SHORT_UNITS.get(unit, unit)


def value_step(code: str, unit: str) -> Decimal:
    """Return by how much minus and plus change a reading of a measure."""
    return Decimal(_FINE.get(code, _STEPS.get(unit, "1")))


def _number_and_unit(text: str) -> tuple[Decimal, str]:
    plain = " ".join(text.replace("−", "-").replace("–", "-").split())
    match = _TYPED.match(plain)
    if not match:
        shown = plain if len(plain) <= 30 else f"{plain[:30]}…"
        raise ValueError(
            f"“{shown}” is not a number. Write figures, such as 52 or 1.5, and the unit after them if it is another."
        )
    number, unit = match.groups()
    return Decimal(number.replace(",", ".")), unit.strip()


def value_read(text: str, unit: str, *, given_unit: str = "", key: int | None = None) -> Decimal:
    """Return a typed reading in ``unit``, to a thousandth: "1.8 oz" for a measure kept in g is 51.029.

    ``given_unit`` is used when the text names none. ``key`` is the note, needed for beats and hertz. Raises ValueError
    with a sentence when it is no number, the unit does not fit, or no instrument gives such a reading.
    """
    number, said = _number_and_unit(text)
    said = said or given_unit or unit
    said = _SAID.get(said.casefold(), said)
    if len(said) > 12:
        raise ValueError(f"“{said[:12]}…” is not a unit. Write the number alone, or with its unit after it.")
    value = Decimal(repr(convert(float(number), said, unit, key=key))) if said != unit else number
    value = value.quantize(PLACES, rounding=ROUND_HALF_UP)
    fault = _fault(value, unit)
    if fault:
        raise ValueError(fault)
    return value


def _fault(value: Decimal, unit: str) -> str:
    if abs(value) >= MOST:
        return "That is more than any instrument reads. Look at the figure again."
    if value < 0 and unit in _NEVER_NEGATIVE:
        return f"A reading in {short_unit(unit) or unit} cannot be below nothing. Write it without the minus."
    if unit in _WHOLE and value != value.to_integral_value():
        return "This is counted: write a whole number."
    if unit in {"%", "%RH"} and value > 100:
        return "More than 100 per cent is not possible. Look at the figure again."
    if unit == "share" and value > 1:
        return "A share lies between 0 and 1: half is 0.5."
    return ""

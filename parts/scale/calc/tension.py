"""Tension of piano strings, and how near it comes to the breaking load.

Lengths and diameters are in millimetres, frequencies in hertz, densities in kg/m³, forces in newtons.
Strings under tension can whip when they break: figures here inform a person, they do not clear a string.
"""

from enum import StrEnum
from math import pi

NEWTONS_PER_LBF = 4.4482216152605  # exact: 0.45359237 kg times 9.80665 m/s²
STEEL_DENSITY = 7850.0  # kg/m³; EN 10270-1 spring wire data, and a worked string in a technicians' list, 2002
COPPER_DENSITY = 8930.0  # kg/m³; published from memory, handbooks give 8920 to 8960

# Shares of the breaking load. The levels are common practice, no source. A string maker quoted in a
# technicians' list of 2006 holds wound strings to 0.70 at most and calls 0.73 near the limit.
WARN_SHARE = 0.65
REFUSE_SHARE = 0.75


class StringLevel(StrEnum):
    """How near a string stands to breaking: fine, warn, or not called safe without a person's word."""

    FINE = "fine"
    WARN = "warn"
    REFUSE = "refuse"


def newtons(lbf: float) -> float:
    """Return pounds-force in newtons."""
    return lbf * NEWTONS_PER_LBF


def pounds_force(newton: float) -> float:
    """Return newtons in pounds-force."""
    return newton / NEWTONS_PER_LBF


def plain_linear_density(diameter_mm: float, density: float = STEEL_DENSITY) -> float:
    """Return the mass of plain wire in kg per metre. Raises ValueError for a diameter not above nought."""
    _check_positive(diameter_mm=diameter_mm, density=density)
    return pi / 4 * (diameter_mm / 1000) ** 2 * density


def wound_linear_density(
    *,
    core_mm: float,
    overall_mm: float,
    core_density: float = STEEL_DENSITY,
    winding_density: float = COPPER_DENSITY,
) -> float:
    """Return the mass of a wound string in kg per metre.

    Exact for round wire in touching turns, a layer being ``pi²/16 (D² - d²)`` in section; the bare ends are
    left out. Raises ValueError unless the string is thicker than its core.
    """
    winding = _winding_linear_density(core_mm, overall_mm, winding_density)
    return plain_linear_density(core_mm, core_density) + winding


def double_wound_linear_density(
    *,
    core_mm: float,
    inner_overall_mm: float,
    overall_mm: float,
    core_density: float = STEEL_DENSITY,
    inner_density: float = COPPER_DENSITY,
    outer_density: float = COPPER_DENSITY,
) -> float:
    """Return the mass of a double-wound string in kg per metre.

    ``inner_overall_mm`` is the diameter over the first layer. Each layer as in ``wound_linear_density``,
    so with one metal in both the first diameter makes no difference. Raises ValueError
    unless the diameters grow from the core outwards.
    """
    inner = _winding_linear_density(core_mm, inner_overall_mm, inner_density)
    outer = _winding_linear_density(inner_overall_mm, overall_mm, outer_density)
    return plain_linear_density(core_mm, core_density) + inner + outer


def string_tension(*, frequency_hz: float, length_mm: float, linear_density: float) -> float:
    """Return the tension in newtons of a string of ``linear_density`` kg/m. Source: Mersenne–Taylor law."""
    _check_positive(frequency_hz=frequency_hz, length_mm=length_mm, linear_density=linear_density)
    return 4 * linear_density * (frequency_hz * length_mm / 1000) ** 2


def plain_tension(
    *, frequency_hz: float, length_mm: float, diameter_mm: float, density: float = STEEL_DENSITY
) -> float:
    """Return the tension in newtons of a plain string: ``pi * density * (f L d)²`` (Mersenne–Taylor)."""
    mass = plain_linear_density(diameter_mm, density)
    return string_tension(frequency_hz=frequency_hz, length_mm=length_mm, linear_density=mass)


def wound_tension(
    *,
    frequency_hz: float,
    length_mm: float,
    core_mm: float,
    overall_mm: float,
    core_density: float = STEEL_DENSITY,
    winding_density: float = COPPER_DENSITY,
) -> float:
    """Return the tension in newtons of a single-wound string; see ``wound_linear_density``.

    For a double-wound one give ``double_wound_linear_density`` to ``string_tension``.
    """
    mass = wound_linear_density(
        core_mm=core_mm, overall_mm=overall_mm, core_density=core_density, winding_density=winding_density
    )
    return string_tension(frequency_hz=frequency_hz, length_mm=length_mm, linear_density=mass)


def winding_factor(winding_density: float = COPPER_DENSITY, core_density: float = STEEL_DENSITY) -> float:
    """Return what the trade form ``1 + factor (D²/d² - 1)`` multiplies: ``pi/4`` of the densities' ratio.

    The trade prints 0.89 for copper on steel (technicians' list, March 2000).
    """
    return pi / 4 * winding_density / core_density


def rough_wound_tension(*, frequency_hz: float, length_mm: float, overall_mm: float) -> float:
    """Return a rough tension in newtons where only the overall diameter is known.

    A string maker's rule, ``(f L D)² / 20000`` in lbf with L and D in cm (technicians' list, September 2006).
    It takes the whole string as 7.08 g/cm³ and suits heavy windings only.
    """
    _check_positive(frequency_hz=frequency_hz, length_mm=length_mm, overall_mm=overall_mm)
    return newtons((frequency_hz * length_mm / 10 * overall_mm / 10) ** 2 / 20000)


def breaking_load(*, diameter_mm: float, tensile_mpa: float) -> float:
    """Return the load in newtons at which round wire (the core) breaks: strength times section."""
    _check_positive(diameter_mm=diameter_mm, tensile_mpa=tensile_mpa)
    return pi / 4 * diameter_mm**2 * tensile_mpa


def breaking_share(*, tension_n: float, diameter_mm: float, tensile_mpa: float) -> float:
    """Return the tension as a share of the breaking load (0.5 is half); old or rusty wire stands nearer."""
    return tension_n / breaking_load(diameter_mm=diameter_mm, tensile_mpa=tensile_mpa)


def string_level(share: float) -> StringLevel:
    """Return how near a share of the breaking load is: warn above 0.65, refuse above 0.75."""
    if share > REFUSE_SHARE:
        return StringLevel.REFUSE
    return StringLevel.WARN if share > WARN_SHARE else StringLevel.FINE


def _winding_linear_density(inner_mm: float, outer_mm: float, density: float) -> float:
    if not outer_mm > inner_mm:
        raise ValueError(
            f"The diameters of a wound string grow from the core outwards: {outer_mm:g} mm over a winding on "
            f"{inner_mm:g} mm is not possible."
        )
    return pi**2 / 16 * (outer_mm**2 - inner_mm**2) * 1e-6 * density


def _check_positive(**values: float) -> None:
    for name, value in values.items():
        if not value > 0:
            raise ValueError(f"The {_WORDS[name]} of a string must be above nought; it is {value:g}.")


_WORDS = {
    "frequency_hz": "frequency",
    "length_mm": "speaking length",
    "diameter_mm": "diameter",
    "overall_mm": "overall diameter",
    "density": "density",
    "linear_density": "mass per metre",
    "tensile_mpa": "tensile strength",
}

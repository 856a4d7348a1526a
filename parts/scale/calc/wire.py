"""Music wire: sizes sold, and the least strength to count on.

Diameters are stored; a gauge number is shown only with the name of its gauge, for the same number means
different wire in different countries (metric No. 14 is 0.825 mm, American No. 14 is 0.838 mm).
"""

from bisect import bisect_left
from dataclasses import dataclass
from math import log

MM_PER_INCH = 25.4
MPA_PER_KSI = 6.894757293168
DIAMETER_TOLERANCE_MM = 0.010  # ±0.0004 in from 0.028 to 0.063 in, a supplier's ASTM A228 table


@dataclass(frozen=True)
class WireSize:
    """One size of music wire: the gauge it belongs to, its number there, and its diameter in inches."""

    gauge: str
    number: float
    inches: float

    @property
    def mm(self) -> float:
        """The diameter in millimetres."""
        return self.inches * MM_PER_INCH

    @property
    def name(self) -> str:
        """The size as it is asked for, with its gauge: "American 13½"."""
        whole, half = divmod(self.number, 1)
        return f"{self.gauge} {int(whole)}{'½' if half else ''}"


def american_size(number: float) -> WireSize:
    """Return an American piano wire size, 12 to 23 in halves: thousandths of an inch = 2 x number + 5.

    Source: technicians' list, November 2004, and a size table of an encyclopaedia article on music wire.
    Raises ValueError for other numbers; above 23 the gauges part company.
    """
    if not 12 <= number <= 23 or number * 2 != int(number * 2):
        raise ValueError(f"American piano wire runs from 12 to 23 in halves; {number:g} is not one of these sizes.")
    return WireSize("American", number, (2 * number + 5) / 1000)


# Above 23: American music wire gauge, published from memory; lists found elsewhere disagree with one another.
_HEAVY = (
    WireSize("American music wire", 24, 0.055),
    WireSize("American music wire", 25, 0.059),
    WireSize("American music wire", 26, 0.063),
)
WIRE_SIZES: tuple[WireSize, ...] = (*(american_size(half / 2) for half in range(24, 47)), *_HEAVY)


def nearest_wire(diameter_mm: float) -> WireSize:
    """Return the size sold whose diameter is nearest, the thinner of two equally near.

    Raises ValueError for a diameter further from every size than half a step.
    """
    nearest = min(WIRE_SIZES, key=lambda size: (round(abs(size.mm - diameter_mm), 9), size.inches))
    if not WIRE_SIZES[0].mm - 0.013 <= diameter_mm <= WIRE_SIZES[-1].mm + 0.051:
        raise ValueError(
            f"No music wire of {diameter_mm:g} mm: sizes run from {WIRE_SIZES[0].mm:.3f} to "
            f"{WIRE_SIZES[-1].mm:.3f} mm. Measure clean, straight wire with a micrometer."
        )
    return nearest


# Least tensile strength of music wire, inches to ksi, as a supplier prints it for ASTM A228 sizes. The first
# row lies between two printed diameters, on the logarithm of the diameter.
_LEAST_STRENGTH = (
    (0.029, 331.5),
    (0.030, 330.0),
    (0.032, 327.0),
    (0.034, 324.0),
    (0.036, 321.0),
    (0.038, 318.0),
    (0.040, 315.0),
    (0.042, 313.0),
    (0.045, 309.0),
    (0.048, 306.0),
    (0.051, 303.0),
    (0.055, 300.0),
    (0.059, 296.0),
    (0.063, 293.0),
)


def minimum_tensile(diameter_mm: float) -> float:
    """Return the least tensile strength of new music wire in MPa, for 0.737 to 1.600 mm and its tolerance.

    Between printed sizes it is interpolated on the logarithm of the diameter. Old, rusty or kinked wire is
    weaker than any table. Raises ValueError outside the table.
    """
    inches = diameter_mm / MM_PER_INCH
    slack = DIAMETER_TOLERANCE_MM / MM_PER_INCH + 1e-9
    first, last = _LEAST_STRENGTH[0][0], _LEAST_STRENGTH[-1][0]
    if not first - slack <= inches <= last + slack:
        raise ValueError(
            f"The strength table covers wire from {first * MM_PER_INCH:.3f} to {last * MM_PER_INCH:.3f} mm; "
            f"{diameter_mm:g} mm is outside it."
        )
    inches = min(max(inches, first), last)
    upper = max(1, bisect_left(_LEAST_STRENGTH, (inches,)))
    (thin, strong), (thick, weak) = _LEAST_STRENGTH[upper - 1], _LEAST_STRENGTH[upper]
    along = log(inches / thin) / log(thick / thin)
    return (strong + along * (weak - strong)) * MPA_PER_KSI

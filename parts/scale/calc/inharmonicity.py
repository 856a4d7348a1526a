"""Inharmonicity: how far the stiffness of a string sharpens its partials.

B is the inharmonicity coefficient, without unit. It scales with the stiffness assumed for the steel, so each
function says which it takes. Sources: H. Fletcher and T. D. Rossing, The Physics of Musical Instruments, and
R. W. Young, Journal of the Acoustical Society of America 24(3), 1952.
"""

from math import log, log2, pi, sqrt

YOUNG_MODULUS_OVER_DENSITY = 2.55e7  # m²/s², assumed by Young 1952; 200 GPa at 7850 kg/m³
STEEL_MODULUS_PA = 200e9  # the same stiffness; spring-wire data pages print 190 to 206 GPa
_CENTS_PER_NEPER = 600 / log(2)  # 865.6: cents of a small relative change of frequency squared


def inharmonicity(*, core_mm: float, length_mm: float, tension_n: float, modulus_pa: float = STEEL_MODULUS_PA) -> float:
    """Return B of a string from its tension: ``pi³ E d⁴ / (64 T L²)``.

    For a wound string ``core_mm`` is the core and ``tension_n`` the whole tension; bare ends add a little
    more. Raises ValueError for a value not above nought.
    """
    _check_positive(core_mm, length_mm, tension_n, modulus_pa)
    return pi**3 * modulus_pa * (core_mm / 1000) ** 4 / (64 * tension_n * (length_mm / 1000) ** 2)


def plain_inharmonicity(
    *,
    frequency_hz: float,
    length_mm: float,
    diameter_mm: float,
    modulus_over_density: float = YOUNG_MODULUS_OVER_DENSITY,
) -> float:
    """Return B of plain wire from its pitch: ``pi² (E/rho) d² / (64 f² L⁴)``, E/rho in m²/s².

    Raises ValueError for a value not above nought.
    """
    _check_positive(frequency_hz, length_mm, diameter_mm, modulus_over_density)
    length_m, diameter_m = length_mm / 1000, diameter_mm / 1000
    return pi**2 * modulus_over_density * diameter_m**2 / (64 * frequency_hz**2 * length_m**4)


def partial_frequency(fundamental_hz: float, coefficient: float, partial: int) -> float:
    """Return the frequency in Hz of a partial: ``n f0 sqrt(1 + B n²)``, f0 being that of a limp string.

    Raises ValueError for a partial below 1.
    """
    return partial * fundamental_hz * sqrt(1 + coefficient * _check_partial(partial) ** 2)


def stretch_cents(coefficient: float, partial: int) -> float:
    """Return how many cents a partial stands above the harmonic of a limp string, exactly.

    For small B this is ``865.6 B n²``. Measured strings depart a little from it at high partials. Raises
    ValueError for a partial below 1.
    """
    return 600 * log2(1 + coefficient * _check_partial(partial) ** 2)


def inharmonicity_from_stretch(cents: float, partial: int) -> float:
    """Return B from a measured stretch in cents, by the small-B rule ``cents = 865.6 B n²``."""
    return cents / (_CENTS_PER_NEPER * _check_partial(partial) ** 2)


def young_constant(modulus_over_density: float = YOUNG_MODULUS_OVER_DENSITY) -> float:
    """Return k of ``cents = k n² d² / (f² L⁴)`` in centimetres and hertz, for E/rho in m²/s².

    Young prints 3.4e13 from plain wire in six pianos.
    """
    return _CENTS_PER_NEPER * pi**2 / 64 * modulus_over_density * 1e4


def _check_partial(partial: int) -> int:
    if partial < 1:
        raise ValueError(f"Partials are counted from 1; there is no partial {partial}.")
    return partial


def _check_positive(*values: float) -> None:
    for value in values:
        if not value > 0:
            raise ValueError(f"Length, diameter, pitch, tension and stiffness must be above nought, not {value:g}.")

"""Climate: what the air of a room makes of wood, of readings and of pitch.

Temperatures in degrees Celsius, relative humidity in per cent.
"""

from dataclasses import dataclass
from enum import StrEnum

# Common practice, no source; makers' advice quoted in trade pages runs from 40 to 70.
DRY_RH, DAMP_RH = 40.0, 65.0
MOST_SWING = 15.0  # points of relative humidity in a month
COLD_C, WARM_C = 10.0, 30.0
# A technicians' list, May 2009: about 4 cents at A4 for 5 points of humidity, in a 45-inch upright.
DRIFT_CENTS_PER_POINT = 0.8


class Trust(StrEnum):
    """What a reading taken today is worth: good, good for today only, or to be taken again later."""

    GOOD = "good"
    TODAY_ONLY = "today_only"
    TAKE_AGAIN = "take_again"


class TrustReason(StrEnum):
    """What speaks against a reading taken today."""

    DRY = "dry"
    DAMP = "damp"
    COLD = "cold"
    WARM = "warm"
    DRIER_THAN_USED_TO = "drier_than_used_to"
    DAMPER_THAN_USED_TO = "damper_than_used_to"


@dataclass(frozen=True)
class ReadingTrust:
    """Whether a reading can be trusted today, why not, and the moisture of the wood (per cent of dry mass).

    ``moisture_lived_in`` is what the instrument was used to, None when that is not known.
    """

    trust: Trust
    reasons: tuple[TrustReason, ...]
    moisture_here: float
    moisture_lived_in: float | None


def equilibrium_moisture(temp_c: float, rh: float) -> float:
    """Return the moisture wood comes to in steady air, in per cent of its dry mass.

    Hailwood–Horrobin equation with coefficients for °C (W. T. Simpson, Forest Products Laboratory research
    note FPL-RN-0268, 1998; read in a source file that cites it). Within about 0.05 of the Wood Handbook
    row at 21.1 °C; ignores species, hysteresis and fibre saturation. Raises ValueError outside -1 to 99 °C,
    the span of the handbook's table, or for humidity outside 0 to 100.
    """
    if not -1.2 <= temp_c <= 99:
        raise ValueError(f"{temp_c:g} °C is outside -1 to 99 °C. A reading in Fahrenheit must be converted first.")
    if not 0 <= rh <= 100:
        raise ValueError(f"A relative humidity of {rh:g} % is not possible: write 0 to 100.")
    h = rh / 100
    t = temp_c
    w = 349 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    kh = k * h
    bound = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    return 1800 / w * (kh / (1 - kh) + bound)


def reading_trust(temp_c: float, rh: float, rh_lived_in: float | None) -> ReadingTrust:
    """Return whether readings that depend on wood and felt (pitch, friction, bearing) can be trusted today.

    ``rh_lived_in`` is the humidity the instrument was used to; more than 15 points away, take the reading
    again once it has settled. Outside 40 to 65 % or 10 to 30 °C it is good for today only. The limits are
    common practice, no source. Raises ValueError as ``equilibrium_moisture``.
    """
    here = equilibrium_moisture(temp_c, rh)
    before = None if rh_lived_in is None else equilibrium_moisture(temp_c, rh_lived_in)
    moved = 0.0 if rh_lived_in is None else rh - rh_lived_in
    found = {
        TrustReason.DRY: rh < DRY_RH,
        TrustReason.DAMP: rh > DAMP_RH,
        TrustReason.COLD: temp_c < COLD_C,
        TrustReason.WARM: temp_c > WARM_C,
        TrustReason.DRIER_THAN_USED_TO: moved < -MOST_SWING,
        TrustReason.DAMPER_THAN_USED_TO: moved > MOST_SWING,
    }
    reasons = tuple(reason for reason, holds in found.items() if holds)
    if abs(moved) > MOST_SWING:
        return ReadingTrust(Trust.TAKE_AGAIN, reasons, here, before)
    return ReadingTrust(Trust.TODAY_ONLY if reasons else Trust.GOOD, reasons, here, before)


def expected_pitch_drift(rh_before: float, rh_after: float) -> float:
    """Return how many cents A4 is expected to move when the air goes from one humidity to another.

    Rising humidity sharpens. Read for a 45-inch upright (see ``DRIFT_CENTS_PER_POINT``); the middle octaves
    move more than the ends, and other instruments by other amounts. Raises ValueError outside 0 to 100 %.
    """
    for rh in (rh_before, rh_after):
        if not 0 <= rh <= 100:
            raise ValueError(f"A relative humidity of {rh:g} % is not possible: write 0 to 100.")
    return (rh_after - rh_before) * DRIFT_CENTS_PER_POINT

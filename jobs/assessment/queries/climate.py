"""Whether readings can be trusted today, in words."""

from dataclasses import dataclass
from decimal import Decimal

from jobs.assessment.calc.climate import Trust, TrustReason, reading_trust
from workshop.keyboard.calc.strip import number_words

_REASONS = {
    TrustReason.DRY: "the air is dry",
    TrustReason.DAMP: "the air is damp",
    TrustReason.COLD: "the room is cold",
    TrustReason.WARM: "the room is warm",
    TrustReason.DRIER_THAN_USED_TO: "the air is much drier than what the instrument lived in",
    TrustReason.DAMPER_THAN_USED_TO: "the air is much damper than what the instrument lived in",
}


@dataclass(frozen=True)
class ClimateWords:
    """What the air of the room means for today's readings: a mark, a word for it, and a sentence."""

    mark: str
    state: str
    sentence: str


def climate_words(
    temperature_c: Decimal | None, humidity_percent: Decimal | None, lived_in_percent: float | None = None
) -> ClimateWords:
    """Return in words whether readings can be trusted in this air; ``lived_in_percent``: what it is used to."""
    if temperature_c is None or humidity_percent is None:
        missing = (
            "temperature and humidity"
            if temperature_c is None and humidity_percent is None
            else ("temperature" if temperature_c is None else "humidity")
        )
        return ClimateWords(
            "pin", "climate not read", f"Without {missing} nobody can say later what these readings were worth."
        )
    try:
        trust = reading_trust(float(temperature_c), float(humidity_percent), lived_in_percent)
    except ValueError as error:
        return ClimateWords("wedge", "not possible", str(error))
    air = f"{number_words(float(temperature_c))} °C and {number_words(float(humidity_percent))} % RH"
    wood = f"Wood comes to {trust.moisture_here:.1f} % moisture in this air."
    reasons = " and ".join(_REASONS[reason] for reason in trust.reasons)
    if trust.trust == Trust.GOOD:
        return ClimateWords("full", "readings can be trusted today", f"{air}. {wood}")
    if trust.trust == Trust.TODAY_ONLY:
        return ClimateWords(
            "half",
            "good for today only",
            f"{air}: {reasons}. Pitch, torque, friction and bearing will read otherwise in ordinary air. {wood}",
        )
    return ClimateWords(
        "pin",
        "to be read again later",
        f"{air}: {reasons}. Let it stand, and read wood and felt again once it has settled. {wood}",
    )

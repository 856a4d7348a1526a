"""From readings to findings: one sentence an owner understands for whatever is out of the ordinary."""

from collections.abc import Iterable, Mapping

from jobs.assessment.calc.findings.generic import outside_drafts, told_draft, unknown_draft
from jobs.assessment.calc.findings.records import (
    SEVERITIES,
    UNKNOWN,
    Examined,
    FindingDraft,
    Measure,
    Reading,
    RoomClimate,
)
from jobs.assessment.calc.findings.rules import pitch_drafts, torque_drafts, touch_drafts, uneven_draft
from workshop.keyboard.calc.notes import Compass, key_name

_TOUCH = ("down-weight", "up-weight")


def findings(
    readings: Iterable[Reading],
    measures: Mapping[str, Measure],
    compass: Compass,
    kind: str,
    era: str,
    climate: RoomClimate | None = None,
) -> list[FindingDraft]:
    """Return what the readings of one instrument say, safety first, then playing, wear, looks.

    ``measures`` by code, with the ranges to judge by (reference and the workshop's own); ``kind`` is grand or
    upright, ``era`` modern or old (``intake.calc.era_of``). Of several readings of one measure at one spot the last
    counts. Raises ValueError with a sentence for a measure that is not known or a note outside the compass.
    """
    examined = Examined(_gathered(readings, measures, compass, climate), measures, compass, kind, era, climate)
    drafts: list[FindingDraft] = []
    touched = False
    for code, measure in measures.items():
        if measure.kind not in ("both", kind) or code not in examined.readings:
            continue
        unknown = unknown_draft(examined, measure)
        if unknown:
            drafts.append(unknown)
        elif code not in _TOUCH:
            drafts += _of_measure(examined, measure)
        elif not touched:
            drafts += touch_drafts(examined)
            touched = True
    places = {code: place for place, code in enumerate(measures)}
    return sorted(
        drafts,
        key=lambda d: (SEVERITIES.index(d.severity), d.certainty == UNKNOWN, places[d.measure]),
    )


def _of_measure(examined: Examined, measure: Measure) -> list[FindingDraft]:
    if measure.code == "pitch-off":
        return pitch_drafts(examined)
    if measure.code == "pin-torque":
        return torque_drafts(examined)
    if measure.value_kind in ("yesno", "choice"):
        told = told_draft(examined, measure)
        return [told] if told else []
    found = examined.range_of(measure.code)
    if found:
        return outside_drafts(examined, measure, found)
    uneven = uneven_draft(examined, measure)
    return [uneven] if uneven else []


def _gathered(
    readings: Iterable[Reading],
    measures: Mapping[str, Measure],
    compass: Compass,
    climate: RoomClimate | None,
) -> dict[str, tuple[Reading, ...]]:
    latest: dict[str, dict[tuple[int | None, str], Reading]] = {}
    for reading in readings:
        if reading.measure not in measures:
            raise ValueError(f"There is no measure “{reading.measure}”. Choose one of the catalogue.")
        if reading.key is not None and reading.key not in compass:
            raise ValueError(
                f"{key_name(reading.key)} lies outside this instrument ({compass.words()}): look at the note again."
            )
        latest.setdefault(reading.measure, {})[reading.key, reading.spot] = reading
    humidity = climate.humidity_percent if climate else None
    if "room-rh" in measures and "room-rh" not in latest and humidity is not None:
        latest["room-rh"] = {(None, ""): Reading("room-rh", value=humidity)}
    return {code: tuple(by_spot.values()) for code, by_spot in latest.items()}

"""Keeping readings: one value of one measure at one spot.

A spot has one reading in an assessment. Keeping a spot again replaces its reading with the later one; the earlier value
is not kept, because it was a slip of the gauge or of the hand. What changed by work is read in another assessment.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from django.db import transaction

from jobs.assessment.calc.spots import spot_name
from jobs.assessment.calc.values import value_read
from jobs.assessment.models import Assessment, Measure, Reading, SpotKind
from jobs.assessment.services.assessments import open_assessment
from jobs.intake.models import Instrument
from workshop.keyboard.calc.notes import key_name
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check

KEPT_FIELDS = ["value", "choice", "not_measured_because", "gauge", "remark", "by", "at"]


class RowsRefused(Refused):
    """Some of many readings cannot be kept, so none is; ``rows`` says what is wrong with which (row -> sentence)."""

    def __init__(self, rows: Mapping[int, str]) -> None:
        count = len(rows)
        super().__init__(
            f"{'One reading' if count == 1 else f'{count} readings'} cannot be kept as written, so nothing was saved. "
            "Mend what is marked and save again; nothing you typed is lost."
        )
        self.rows = dict(rows)


@dataclass(frozen=True)
class Said:
    """A reading as it was given: a text with or without unit, a choice, or why there is none; and where."""

    key: int | None = None
    spot: str = ""
    spot_kind: str = ""
    value_text: str = ""
    unit: str = ""
    choice: str = ""
    not_measured_because: str = ""
    gauge: str = ""
    remark: str = ""


@transaction.atomic
def reading_keep(
    *,
    assessment: Assessment,
    measure: Measure,
    by: Person,
    at: dt.datetime,
    key: int | None = None,
    spot: str = "",
    spot_kind: str = "",
    value_text: str = "",
    unit: str = "",
    choice: str = "",
    not_measured_because: str = "",
    gauge: str = "",
    remark: str = "",
) -> Reading:
    """Keep one reading; one kept before at the same spot is replaced by it.

    ``value_text`` is what was typed ("52", "1.8 oz"); ``unit`` is used when the text names none. A choice or a grade
    goes into ``choice``. Without key and spot the reading is of the whole instrument. Raises Refused when the
    assessment is finished, the note is outside the compass, the measure is not read there, or the value is not
    possible.
    """
    held = open_assessment(assessment)
    said = Said(key, spot, spot_kind, value_text, unit, choice, not_measured_because, gauge, remark)
    return _kept(_reading(held, measure, said, by, at))


@transaction.atomic
def readings_keep(
    *, assessment: Assessment, measure: Measure, rows: Mapping[int, tuple[str, str]], by: Person, at: dt.datetime
) -> int:
    """Keep a column of note readings at once: key -> (value as typed, why not measured). Returns how many changed.

    A row with neither takes back a reading that stood there. A row that says what is kept already is left alone. Raises
    RowsRefused with a sentence for each bad row, and then keeps none.
    """
    held = open_assessment(assessment)
    before = {
        reading.key: reading
        for reading in held.readings.filter(measure=measure, spot_kind=SpotKind.NOTE)
        if reading.key is not None
    }
    made, gone, faults = [], [], {}
    for key, (text, because) in rows.items():
        if not text.strip() and not because.strip():
            if key in before:
                gone.append(before[key].pk)
            continue
        is_number = measure.value_kind == Measure.ValueKind.NUMBER
        said = Said(
            key=key,
            value_text=text if is_number else "",
            choice="" if is_number else text.strip(),
            not_measured_because="" if text.strip() else because,
        )
        try:
            reading = _reading(held, measure, said, by, at)
        except Refused as refusal:
            faults[key] = str(refusal)
            continue
        if key not in before or _content(before[key]) != _content(reading):
            made.append(reading)
    if faults:
        raise RowsRefused(faults)
    Reading.objects.filter(pk__in=gone).delete()
    for reading in made:
        reading.pk = before[reading.key].pk if reading.key in before else None
    Reading.objects.bulk_update([r for r in made if r.pk], KEPT_FIELDS)
    Reading.objects.bulk_create([r for r in made if not r.pk])
    return len(made) + len(gone)


@transaction.atomic
def reading_take_back(*, reading: Reading, by: Person) -> None:
    """Take a reading back, as if it had not been taken. Raises Refused when its assessment is finished."""
    open_assessment(reading.assessment)
    reading.delete()


def _content(reading: Reading) -> tuple[object, ...]:
    return (reading.value, reading.choice, reading.not_measured_because)


def _kept(reading: Reading) -> Reading:
    """Save a reading, over the one that stands at its spot if there is one. Raises Refused for a field too long."""
    standing = Reading.objects.filter(
        assessment=reading.assessment,
        measure=reading.measure,
        spot_kind=reading.spot_kind,
        key=reading.key,
        spot=reading.spot,
    ).first()
    if standing is not None:
        reading.pk = standing.pk
        reading._state.adding = False
    row_check(reading)
    reading.save()
    return reading


def _reading(assessment: Assessment, measure: Measure, said: Said, by: Person, at: dt.datetime) -> Reading:
    """Return the reading said, not saved yet. Raises Refused."""
    instrument = assessment.instrument
    if measure.applies_to not in ("both", instrument.kind):
        raise Refused(
            f"{measure.name} is read on {measure.applies_to}s only; no. {instrument.number} is a {instrument.kind}."
        )
    kind, key, spot = _spot(instrument, measure, said)
    reading = Reading(
        assessment=assessment,
        measure=measure,
        spot_kind=kind,
        key=key,
        spot=spot,
        gauge=_short(said.gauge, 60, "The gauge"),
        remark=_short(said.remark, 200, "The remark"),
        by=by,
        at=at,
    )
    _fill(reading, measure, said)
    return reading


def _spot(instrument: Instrument, measure: Measure, said: Said) -> tuple[str, int | None, str]:
    kinds = list(measure.spot_kinds)
    if said.key is not None:
        if not {"note", "pair"} & set(kinds):
            raise Refused(f"{measure.name} is not read note by note, but for {_kinds_words(kinds)}.")
        try:
            instrument.compass.position(said.key)
        except ValueError as error:
            raise Refused(str(error)) from error
        return SpotKind.NOTE, said.key, ""
    if said.spot.strip():
        kind = said.spot_kind or next((each for each in ("section", "panel") if each in kinds), "")
        if kind not in kinds or kind not in ("section", "panel"):
            raise Refused(
                f"{measure.name} is not read by {said.spot_kind or 'section or panel'}, but for {_kinds_words(kinds)}."
            )
        return kind, None, _short(spot_name(said.spot, kind, instrument.kind), 40, "The name of the place")
    if "whole" not in kinds:
        raise Refused(f"Say where {measure.name.lower()} was read: {_kinds_words(kinds)}.")
    return SpotKind.WHOLE, None, ""


def _kinds_words(kinds: list[str]) -> str:
    words = {
        "note": "a note",
        "pair": "a note",
        "section": "a section",
        "panel": "a panel",
        "whole": "the whole instrument",
    }
    return " or ".join(dict.fromkeys(words[kind] for kind in kinds if kind in words)) or "nothing"


def _short(text: str, most: int, what: str) -> str:
    plain = text.strip()
    if len(plain) > most:
        raise Refused(f"{what} is {len(plain)} characters long; {most} is the most that can be kept. Shorten it.")
    return plain


def _fill(reading: Reading, measure: Measure, said: Said) -> None:
    """Put the value, the choice, or the reason into the reading. Raises Refused."""
    because = _short(said.not_measured_because, 120, "The reason")
    if because and (said.value_text.strip() or said.choice.strip()):
        raise Refused("Give either a reading or the reason why there is none, not both.")
    if because:
        reading.not_measured_because = because
        return
    where = f" at {key_name(reading.key)}" if reading.key is not None else ""
    if measure.value_kind == Measure.ValueKind.NUMBER:
        if not said.value_text.strip():
            raise Refused(f"Write what you read{where}, or say why it was not measured.")
        try:
            reading.value = value_read(said.value_text, measure.unit, given_unit=said.unit, key=reading.key)
        except ValueError as error:
            raise Refused(str(error)) from error
        return
    choices = {str(choice).casefold(): str(choice) for choice in measure.choices}
    chosen = (said.choice or said.value_text).strip()
    if chosen.casefold() not in choices:
        listed = ", ".join(choices.values())
        asked = f"“{chosen[:20]}” is none of the answers" if chosen else f"Choose what you found{where}"
        raise Refused(f"{asked}: {listed}.")
    reading.choice = choices[chosen.casefold()]

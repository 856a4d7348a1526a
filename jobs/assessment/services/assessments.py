"""Beginning and finishing an assessment; remarks."""

import datetime as dt
from decimal import Decimal

from django.db import transaction

from jobs.assessment.models import Assessment, Remark
from jobs.intake.models import Instrument
from jobs.intake.services import enquiries_take_up
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check


@transaction.atomic
def assessment_start(
    *,
    instrument: Instrument,
    purpose: str,
    on: dt.date,
    by: Person,
    where: str = "bench",
    state_words: str = "",
    temperature_c: Decimal | None = None,
    humidity_percent: Decimal | None = None,
) -> Assessment:
    """Begin an assessment; open enquiries about the instrument are taken up with it.

    Raises Refused when an assessment for the same purpose is not finished yet, or the climate is not possible.
    """
    Instrument.objects.select_for_update().get(pk=instrument.pk)
    begun = instrument.assessments.filter(purpose=purpose, finished_at=None).first()
    if begun is not None:
        raise Refused(
            f"The {begun.get_purpose_display()} assessment begun on {begun.on:%d %B %Y} is not finished yet. "
            "Go on with that one, or finish it first."
        )
    if humidity_percent is not None and not 0 <= humidity_percent <= 100:
        raise Refused(f"A relative humidity of {humidity_percent} % is not possible: write 0 to 100.")
    if temperature_c is not None and not -1 <= temperature_c <= 60:
        raise Refused(f"{temperature_c} °C is outside -1 to 60 °C. A reading in Fahrenheit must be converted first.")
    assessment = Assessment(
        instrument=instrument,
        purpose=purpose,
        on=on,
        by=by,
        where=where.strip() or "bench",
        state_words=state_words.strip(),
        temperature_c=temperature_c,
        humidity_percent=humidity_percent,
    )
    row_check(assessment)
    assessment.save()
    enquiries_take_up(instrument=instrument, by=by)
    return assessment


def open_assessment(assessment: Assessment) -> Assessment:
    """Return the assessment held for a change. Raises Refused when it is finished."""
    held = Assessment.objects.select_for_update(of=("self",)).select_related("instrument").get(pk=assessment.pk)
    if held.finished_at is not None:
        raise Refused(
            f"This assessment was finished on {held.finished_at:%d %B %Y}; its readings stand. Open it again, or "
            "begin another one after opening up."
        )
    return held


@transaction.atomic
def assessment_finish(*, assessment: Assessment, by: Person, at: dt.datetime) -> Assessment:
    """Close an assessment: its readings stand from now on. Raises Refused when nothing was read, or it is closed."""
    held = open_assessment(assessment)
    if not held.readings.exists() and not held.findings.exists() and not held.remarks.exists():
        raise Refused(
            "Nothing was read, remarked or found yet. Keep a reading first, or say why it cannot be measured."
        )
    held.finished_at = at
    held.save(update_fields=["finished_at"])
    assessment.finished_at = at
    return held


@transaction.atomic
def assessment_reopen(*, assessment: Assessment, by: Person) -> Assessment:
    """Open a finished assessment again, to mend a reading. Raises Refused for a final one, and when it is open."""
    held = Assessment.objects.select_for_update().get(pk=assessment.pk)
    if held.finished_at is None:
        raise Refused("This assessment is open already.")
    if held.purpose == Assessment.Purpose.FINAL:
        raise Refused("A final assessment is the ground of the proof and stays as it is. Begin another one.")
    held.finished_at = None
    held.save(update_fields=["finished_at"])
    return held


@transaction.atomic
def remark_keep(*, assessment: Assessment, text: str, by: Person, at: dt.datetime, area: str = "") -> Remark:
    """Write a remark down. Raises Refused for an empty one, and when the assessment is finished."""
    held = open_assessment(assessment)
    if not text.strip():
        raise Refused("Write the remark first.")
    remark = Remark(assessment=held, text=text.strip(), area=area.strip(), by=by, at=at)
    row_check(remark)
    remark.save()
    return remark

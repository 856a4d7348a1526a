"""Rows of the database as the plain records that ``calc`` computes with."""

from collections.abc import Iterable

from jobs.assessment.calc import findings as calc
from jobs.assessment.calc.csv_readings import CsvFault, CsvReading, csv_readings
from jobs.assessment.calc.spots import spots_of
from jobs.assessment.measure_data import measures_read_as
from jobs.assessment.models import Assessment, Measure, Reading
from jobs.intake.models import Instrument


def _float(value: object) -> float | None:
    return None if value is None else float(str(value))


def reading_records(readings: Iterable[Reading]) -> list[calc.Reading]:
    """Return readings with their measure read along; a grade becomes a value."""
    return [
        calc.Reading(
            measure=row.measure.code,
            spot_kind=row.spot_kind,
            key=row.key,
            spot=row.spot,
            value=_value(row),
            choice="" if row.measure.value_kind == Measure.ValueKind.GRADE else row.choice,
            not_measured=row.not_measured_because,
        )
        for row in readings
    ]


def _value(row: Reading) -> float | None:
    if row.value is None and row.choice and row.measure.value_kind == Measure.ValueKind.GRADE:
        return float(row.choice)
    return _float(row.value)


def csv_read(instrument: Instrument, text: str) -> tuple[list[CsvReading], list[CsvFault]]:
    """Return the rows of a CSV that hold for this instrument, and the faults of those that do not."""
    return csv_readings(text, measures_read_as(), instrument.compass, spots_of("panel", instrument.kind))


def climate_record(assessment: Assessment) -> calc.RoomClimate:
    """Return the air an assessment was made in."""
    return calc.RoomClimate(_float(assessment.temperature_c), _float(assessment.humidity_percent))

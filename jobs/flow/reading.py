"""From an instrument and its readings to findings."""

import datetime as dt
from typing import Any

from django.db import transaction

from jobs.assessment import queries as assessment_queries
from jobs.assessment import services as assessment_services
from jobs.assessment.models import Assessment
from jobs.intake import services as intake_services
from jobs.intake.models import Instrument
from workshop.people.models import Person


@transaction.atomic
def instrument_changed(instrument: Instrument, *, by: Person, **fields: Any) -> Instrument:
    """Change what is known of an instrument; keys that were read stay inside its compass. Raises Refused."""
    keys = assessment_queries.keys_read(instrument)
    return intake_services.instrument_write(instrument=instrument, by=by, keys_read=keys, **fields)


@transaction.atomic
def assessment_finished(assessment: Assessment, by: Person, at: dt.datetime) -> Assessment:
    """Work out the findings of an assessment, then close it. Raises Refused as the two services do."""
    assessment_services.findings_work_out(assessment=assessment)
    return assessment_services.assessment_finish(assessment=assessment, by=by, at=at)

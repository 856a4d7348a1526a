"""Jobs with readings before and after for tests."""

import datetime as dt
from typing import Any

from jobs.assessment.models import Assessment, Measure
from jobs.verification.services import proof_start, targets_write
from jobs.worklist.models import Job
from tests.factories import (
    TODAY,
    make_assessment,
    make_instrument,
    make_job,
    make_manager,
    make_measure,
    make_operation,
    make_reading,
    make_task,
)

EARLIER = TODAY - dt.timedelta(days=90)


def make_touch(code: str = "down-weight", operation: str = "ky-bush", **more: Any) -> Measure:
    """A measure that points to an operation."""
    measure = make_measure(code, **more)
    measure.points_to.add(make_operation(operation))
    return measure


def make_proof_job(before: dict[int, float], *, measure: Measure | None = None, **more: Any) -> Job:
    """A job of one task with first readings, and the target that follows from them."""
    measure = measure or make_touch()
    instrument = more.pop("instrument", None) or make_instrument(**more)
    first = make_assessment(instrument, on=EARLIER)
    for key, value in before.items():
        make_reading(first, key, value, measure=measure)
    job = make_job(instrument)
    make_task(job, make_operation("ky-bush"))
    targets_write(job=job)
    return job


def read_again(job: Job, after: dict[int, float], *, measure: Measure | None = None, **missing: str) -> Assessment:
    """Take final readings; ``k5="broken"``: key 5 was not measured, because broken."""
    final = proof_start(job=job, by=make_manager(), on=TODAY)
    for key, value in after.items():
        make_reading(final, key, value, measure=measure)
    for name, because in missing.items():
        reading = make_reading(final, int(name[1:]), 0, measure=measure, not_measured_because=because)
        reading.value = None
        reading.save()
    return final

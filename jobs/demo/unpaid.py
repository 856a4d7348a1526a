"""What nobody pays in the demo: hours on assessments, one of which led to no order, and two visits under guarantee."""

import datetime as dt
from collections.abc import Mapping

from jobs.assessment.models import Assessment
from jobs.assessment.services import assessment_finish, assessment_start, remark_keep
from jobs.demo.moments import Moments
from jobs.hours.models import HouseTime
from jobs.worklist.models import Job
from workshop.people.models import Person

ASSESSED_AGAIN = 150  # an instrument of the past whose owner asked again and left it at that
ASSESSED_MINUTES = 410  # and up to 100 more: talk, booking-in, readings and report, as the norms have them
VISITS = (
    ("Edda", -40, 75, "two dampers lag since it was moved"),
    ("Corin", -18, 135, "one key sticks in damp weather"),
)


def unpaid_build(people: Mapping[str, Person], moments: Moments) -> None:
    """Write down the hours of every first assessment, and the visits to the jobs that went home last."""
    again = Job.objects.get(instrument__number=ASSESSED_AGAIN).instrument
    looked = assessment_start(
        instrument=again, purpose="first", on=moments.day(-75), by=people["Edda"], where="the owner’s home"
    )
    words = "Sound, and worth nothing but a tuning: the owner was told so, and thinks about the case."
    remark_keep(assessment=looked, text=words, by=people["Edda"], at=moments.at(-75, 11))
    assessment_finish(assessment=looked, by=people["Edda"], at=moments.at(-75, 12))
    rows = [
        _row(one.by, one.on, ASSESSED_MINUTES + 25 * (place % 5), moments, assessment=one)
        for place, one in enumerate(Assessment.objects.filter(purpose="first").select_related("by").order_by("pk"))
    ]
    home = Job.objects.filter(state=Job.State.RETURNED, returned_on__lt=moments.day(-60)).order_by("-returned_on", "pk")
    for job, (name, day, minutes, note) in zip(home[: len(VISITS)], VISITS, strict=True):
        rows.append(_row(people[name], moments.day(day), minutes, moments, job=job, note=note))
    HouseTime.objects.bulk_create(rows)


def _row(
    person: Person,
    on: dt.date,
    minutes: int,
    moments: Moments,
    *,
    assessment: Assessment | None = None,
    job: Job | None = None,
    note: str = "",
) -> HouseTime:
    kept = moments.on(on, 17)
    return HouseTime(
        assessment=assessment,
        job=job,
        person=person,
        on=on,
        minutes=minutes,
        note=note,
        kept_at=kept,
        kept_by=person,
    )

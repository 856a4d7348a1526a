"""Targets agreed for a job; the final readings; the proof signed once."""

import datetime as dt
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from jobs.assessment.models import Assessment, Measure, MeasureRange
from jobs.assessment.services import assessment_finish, assessment_start
from jobs.verification.calc import totals
from jobs.verification.models import Proof, Target
from jobs.verification.queries import (
    final_assessments,
    first_assessment,
    measures_frozen,
    proof_content,
    proof_pairs,
    unread_words,
)
from jobs.worklist.models import Job, Task
from workshop.calendar.words import day_words_year
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check

MOST_NAMES = 4


@transaction.atomic
def targets_write(*, job: Job) -> list[Target]:
    """Write the targets of a job from the ordinary ranges: of the measures its work points to, read note by note.

    Only measures that were read at first become targets: what nobody read before proves nothing after. Targets
    somebody set are kept, and a proof that is signed keeps the targets it was signed with.
    """
    first = first_assessment(job)
    if first is None or Proof.objects.filter(job=job, signed_at__isnull=False).exists():
        return []
    codes = set(job.tasks.exclude(state=Task.State.LEFT_OUT).values_list("operation__code", flat=True))
    measures = Measure.objects.filter(
        points_to__code__in=codes, value_kind=Measure.ValueKind.NUMBER, readings__assessment=first,
        readings__spot_kind="note", readings__value__isnull=False,
    ).distinct()  # fmt: skip
    ranges = {
        row.measure_id: row
        for row in MeasureRange.objects.filter(
            measure__in=measures, instrument_kind=job.instrument.kind, era=job.instrument.era
        )
    }
    known = set(job.targets.values_list("measure", flat=True))
    made = []
    for measure in measures:
        row = ranges.get(measure.pk)
        if measure.pk in known or row is None or (row.low is None and row.high is None):
            continue
        target = Target(job=job, measure=measure, low=row.low, high=row.high, why="the ordinary range")
        row_check(target)
        target.save()
        made.append(target)
    return made


@transaction.atomic
def target_set(
    *, job: Job, measure: Measure, low: Decimal | None, high: Decimal | None, why: str, by: Person
) -> Target:
    """Set the target of one measure. Raises Refused without a limit or a reason, or once the proof is signed."""
    Job.objects.select_for_update().get(pk=job.pk)
    _refuse_signed(job)
    if low is None and high is None:
        raise Refused("A target needs a lower limit, an upper limit or both.")
    if low is not None and high is not None and low > high:
        raise Refused("The upper limit lies below the lower one: change one of the two.")
    if not why.strip():
        raise Refused("Say in a few words why: as agreed with the owner, for example.")
    target = Target.objects.filter(job=job, measure=measure).first() or Target(job=job, measure=measure)
    target.low, target.high, target.why = low, high, why.strip()
    row_check(target)
    target.save()
    return target


@transaction.atomic
def proof_start(*, job: Job, by: Person, on: dt.date) -> Assessment:
    """Begin the final readings of a job, or return those that are not finished.

    Begun again after they were finished, only what is read anew replaces what was read before. Raises Refused before
    the instrument is in the house, and once the proof is signed.
    """
    job = Job.objects.select_for_update(of=("self",)).select_related("instrument").get(pk=job.pk)
    _refuse_signed(job)
    begun = next((one for one in final_assessments(job) if one.finished_at is None), None)
    if begun is not None:
        return begun
    if job.state not in (Job.State.IN_HOUSE, Job.State.READY):
        raise Refused(f"{job.instrument} is not in the house: book it in before it is read again.")
    return assessment_start(
        instrument=job.instrument,
        purpose=Assessment.Purpose.FINAL,
        on=on,
        by=by,
        where="bench",
        state_words="after the work",
    )


@transaction.atomic
def proof_sign(*, job: Job, by: Person, at: dt.datetime, words: str) -> Proof:
    """Sign the proof of a job, once: every pair of readings is frozen with it, and the final readings are closed.

    Raises Refused when it was signed, nothing was read again, or a note read before was not read again (or a
    measure with a target not at all) and nobody said why.
    """
    job = Job.objects.select_for_update(of=("self",)).select_related("instrument", "quote__assessment").get(pk=job.pk)
    _refuse_signed(job)
    finals = [one for one in final_assessments(job) if one.readings.exists()]
    measures = proof_pairs(job)
    if not finals or not any(one.read for one in measures):
        raise Refused("Nothing has been read again yet: take the final readings first.")
    wanting = unread_words(measures)
    if wanting:
        more = f" and {len(wanting) - MOST_NAMES} more" if len(wanting) > MOST_NAMES else ""
        raise Refused(
            f"Not every note was read again: {', '.join(wanting[:MOST_NAMES])}{more}. Read them, or say for each note "
            "why it was not measured."
        )
    met, read = totals(measures)
    proof = Proof(
        job=job,
        first=first_assessment(job),
        final=finals[-1],
        words=words.strip(),
        notes_met=met,
        notes_read=read,
        frozen=measures_frozen(measures),
        signed_at=at,
        signed_by=by,
    )
    proof.content_hash = proof_content(proof)
    row_check(proof)
    proof.save()
    for final in finals:
        if final.finished_at is None:
            assessment_finish(assessment=final, by=by, at=at)
    return proof


def _refuse_signed(job: Job) -> None:
    """Raise Refused when the proof of a job is signed."""
    signed = Proof.objects.filter(job=job, signed_at__isnull=False).select_related("signed_by").first()
    if signed is not None and signed.signed_at is not None:
        day = day_words_year(timezone.localdate(signed.signed_at))
        raise Refused(f"{signed.signed_by} signed this proof on {day}; it stays as it is.")

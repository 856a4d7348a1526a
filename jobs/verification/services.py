"""Targets agreed for a job; the final readings; the proof signed once."""

import datetime as dt
from decimal import Decimal

from django.db import transaction

from jobs.assessment.models import Assessment, Measure, MeasureRange
from jobs.assessment.queries import latest_assessment
from jobs.assessment.services import assessment_finish, assessment_start
from jobs.verification.calc import totals
from jobs.verification.models import Proof, Target
from jobs.verification.queries import (
    final_assessment,
    measures_frozen,
    proof_hash,
    proof_pairs,
)
from jobs.worklist.models import Job, Task
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check

MOST_NAMES = 4


@transaction.atomic
def targets_write(*, job: Job) -> list[Target]:
    """Write the targets of a job from the ordinary ranges: of the measures its work points to, read note by note.

    Only measures that were read at first become targets: what nobody read before proves nothing after. Targets
    somebody set are kept.
    """
    first = latest_assessment(job.instrument, Assessment.Purpose.FIRST)
    if first is None:
        return []
    codes = set(job.tasks.exclude(state=Task.State.LEFT_OUT).values_list("operation__code", flat=True))
    measures = Measure.objects.filter(
        points_to__code__in=codes, value_kind=Measure.ValueKind.NUMBER, readings__assessment=first,
        readings__spot_kind="note",
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
    if Proof.objects.filter(job=job, signed_at__isnull=False).exists():
        raise Refused("The proof is signed; its targets stay as they were agreed.")
    if low is None and high is None:
        raise Refused("A target needs a lower limit, an upper limit or both.")
    if not why.strip():
        raise Refused("Say in a few words why: as agreed with the owner, for example.")
    target = Target.objects.filter(job=job, measure=measure).first() or Target(job=job, measure=measure)
    target.low, target.high, target.why = low, high, why.strip()
    row_check(target)
    target.save()
    return target


@transaction.atomic
def proof_start(*, job: Job, by: Person, on: dt.date) -> Assessment:
    """Begin the final readings of a job, or return those begun. Raises Refused before it is in the house."""
    job = Job.objects.select_for_update(of=("self",)).select_related("instrument").get(pk=job.pk)
    begun = final_assessment(job)
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

    Raises Refused when it was signed, nothing was read again, or a note read before was not read again and
    nobody said why.
    """
    job = Job.objects.select_for_update(of=("self",)).select_related("instrument").get(pk=job.pk)
    signed = Proof.objects.filter(job=job, signed_at__isnull=False).select_related("signed_by").first()
    if signed is not None:
        raise Refused(f"{signed.signed_by} signed this proof on {signed.signed_at:%d %b %Y}; it stays as it is.")
    final = final_assessment(job)
    measures = proof_pairs(job)
    if final is None or not any(one.read for one in measures):
        raise Refused("Nothing has been read again yet: take the final readings first.")
    wanting = [one.name for one in measures if one.open_keys]
    if wanting:
        more = f" and {len(wanting) - MOST_NAMES} more" if len(wanting) > MOST_NAMES else ""
        raise Refused(
            f"Not every note was read again: {', '.join(wanting[:MOST_NAMES])}{more}. Read them, or say for each note "
            "why it was not measured."
        )
    frozen = measures_frozen(measures)
    proof = Proof.objects.filter(job=job).first() or Proof(job=job, final=final)
    proof.first = latest_assessment(job.instrument, Assessment.Purpose.FIRST)
    proof.final = final
    proof.words = words.strip()
    proof.notes_met, proof.notes_read = totals(measures)
    proof.frozen = frozen
    proof.content_hash = proof_hash(frozen, proof.words)
    proof.signed_at, proof.signed_by = at, by
    row_check(proof)
    proof.save()
    if final.finished_at is None:
        assessment_finish(assessment=final, by=by, at=at)
    return proof

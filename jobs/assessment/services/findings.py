"""Findings: worked out from the readings, then kept, changed or struck out by the manager; or written by hand."""

import datetime as dt
from collections.abc import Iterable

from django.db import transaction
from django.db.models import Max

from jobs.assessment.calc.findings import FindingDraft
from jobs.assessment.calc.findings import findings as drafts_of
from jobs.assessment.measure_data import measures_as_data
from jobs.assessment.models import Assessment, Finding, Measure
from jobs.assessment.queries.assessments import readings_of
from jobs.assessment.queries.records import climate_record, reading_records
from jobs.operations.models import Operation
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check

LONGEST_SENTENCE = 400


@transaction.atomic
def findings_work_out(*, assessment: Assessment) -> list[Finding]:
    """Work the findings of an assessment out from its readings, and return those that are new.

    Proposals of an earlier working out are replaced. A measure whose finding was kept or struck out before gets no
    second one: what the manager decided stands. Findings written by hand are left alone. Raises Refused when a
    reading cannot be judged.
    """
    assessment = Assessment.objects.select_for_update(of=("self",)).select_related("instrument").get(pk=assessment.pk)
    instrument = assessment.instrument
    try:
        drafts = drafts_of(
            reading_records(readings_of(assessment)),
            measures_as_data(),
            instrument.compass,
            instrument.kind,
            instrument.era,
            climate_record(assessment),
        )
    except ValueError as error:
        raise Refused(str(error)) from error
    assessment.findings.filter(state=Finding.State.PROPOSED).exclude(measure=None).delete()
    decided = set(assessment.findings.exclude(measure=None).values_list("measure__code", flat=True))
    measures = {each.code: each for each in Measure.objects.filter(code__in={d.measure for d in drafts})}
    operations = {
        each.code: each for each in Operation.objects.filter(code__in={c for d in drafts for c in d.operations})
    }
    new = [draft for draft in drafts if draft.measure not in decided]
    return [
        _finding(assessment, draft, place, measures[draft.measure], operations)
        for place, draft in enumerate(new, start=1)
    ]


def _finding(
    assessment: Assessment, draft: FindingDraft, place: int, measure: Measure, operations: dict[str, Operation]
) -> Finding:
    sentence = draft.sentence
    if len(sentence) > LONGEST_SENTENCE:
        sentence = f"{sentence[: LONGEST_SENTENCE - 1].rsplit(' ', 1)[0]}…"
    finding = Finding(
        assessment=assessment,
        measure=measure,
        severity=draft.severity,
        certainty=draft.certainty,
        sentence=sentence,
        why=draft.why,
        position=place,
    )
    row_check(finding)
    finding.save()
    finding.operations.set([operations[code] for code in draft.operations if code in operations])
    return finding


@transaction.atomic
def finding_keep(*, finding: Finding, by: Person) -> Finding:
    """Keep a finding as it stands."""
    return _set_state(finding, Finding.State.KEPT)


@transaction.atomic
def finding_strike(*, finding: Finding, by: Person) -> Finding:
    """Strike a finding out; it stays readable, and is not quoted or shown to the client."""
    return _set_state(finding, Finding.State.STRUCK)


def _set_state(finding: Finding, state: str) -> Finding:
    finding = Finding.objects.select_for_update().get(pk=finding.pk)
    finding.state = state
    finding.save(update_fields=["state"])
    return finding


@transaction.atomic
def finding_change(
    *,
    finding: Finding,
    sentence: str,
    severity: str,
    certainty: str,
    by: Person,
    why: str = "",
    operations: Iterable[Operation] = (),
) -> Finding:
    """Change a finding, and keep it with that. Raises Refused without a sentence or for a field that does not fit."""
    finding = Finding.objects.select_for_update().get(pk=finding.pk)
    _write(finding, sentence, severity, certainty, why)
    finding.state = Finding.State.KEPT
    row_check(finding)
    finding.save()
    finding.operations.set(operations)
    return finding


@transaction.atomic
def finding_add(
    *,
    assessment: Assessment,
    sentence: str,
    severity: str,
    certainty: str,
    by: Person,
    at: dt.datetime,
    why: str = "",
    operations: Iterable[Operation] = (),
) -> Finding:
    """Write a finding by hand: the manager's is kept at once, a technician's waits to be confirmed. Raises Refused."""
    last = assessment.findings.aggregate(last=Max("position"))["last"] or 0
    state = Finding.State.KEPT if by.is_manager else Finding.State.PROPOSED
    finding = Finding(assessment=assessment, position=last + 1, state=state)
    _write(finding, sentence, severity, certainty, why)
    row_check(finding)
    finding.save()
    finding.operations.set(operations)
    return finding


def _write(finding: Finding, sentence: str, severity: str, certainty: str, why: str) -> None:
    if not sentence.strip():
        raise Refused("Write the finding in one sentence.")
    finding.sentence = sentence.strip()
    finding.severity = severity
    finding.certainty = certainty
    finding.why = why.strip()

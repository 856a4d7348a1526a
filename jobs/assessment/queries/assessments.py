"""Assessments, their readings and their findings."""

from django.db.models import QuerySet

from jobs.assessment.models import Assessment, Finding, Measure, Reading, SpotKind
from jobs.intake.models import Instrument

SEVERITY_ORDER = ("safety", "playing", "wear", "looks")


def assessment_record(pk: int) -> Assessment | None:
    """Return an assessment with instrument, client and person, or None."""
    return Assessment.objects.select_related("instrument__client", "by").filter(pk=pk).first()


def assessments_of(instrument: Instrument) -> QuerySet[Assessment]:
    """Return the assessments of an instrument, newest first."""
    return instrument.assessments.select_related("by").order_by("-on", "-id")


def latest_assessment(instrument: Instrument, purpose: str | None = None) -> Assessment | None:
    """Return the newest assessment of an instrument, of one purpose or of any."""
    found = assessments_of(instrument)
    return (found.filter(purpose=purpose) if purpose else found).first()


def earlier_humidity(instrument: Instrument) -> float | None:
    """Return the humidity at the newest assessment in another place than the bench: what the instrument lived in."""
    found = instrument.assessments.exclude(where="bench").exclude(humidity_percent=None).order_by("-on", "-id").first()
    return None if found is None or found.humidity_percent is None else float(found.humidity_percent)


def keys_read(instrument: Instrument) -> set[int]:
    """Return the keys of an instrument that have readings."""
    found = Reading.objects.filter(assessment__instrument=instrument, spot_kind=SpotKind.NOTE)
    return {key for key in found.values_list("key", flat=True).distinct() if key is not None}


def readings_of(assessment: Assessment, measure: Measure | None = None) -> list[Reading]:
    """Return the readings of an assessment in the order of measures and keys, of one measure or of all."""
    found = assessment.readings.select_related("measure", "by").order_by(
        "measure__position", "measure__code", "key", "spot"
    )
    return list(found.filter(measure=measure) if measure else found)


def findings_of(assessment: Assessment) -> list[Finding]:
    """Return the findings of an assessment, safety first, with measures and operations read along."""
    found = assessment.findings.select_related("measure").prefetch_related("operations")
    return sorted(
        found, key=lambda each: (each.state == "struck", SEVERITY_ORDER.index(each.severity), each.position, each.pk)
    )


def findings_for(instrument: Instrument) -> list[Finding]:
    """Return the findings that stand for an instrument: those not struck out of its newest assessment that has any."""
    for assessment in assessments_of(instrument).filter(findings__isnull=False).distinct()[:1]:
        return [finding for finding in findings_of(assessment) if finding.state != Finding.State.STRUCK]
    return []

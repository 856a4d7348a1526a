"""What a new quote begins with: opening words, and the work the findings point to."""

from collections.abc import Iterable

from django.db.models import Count, Q, QuerySet

from jobs.assessment.models import Assessment, Finding
from jobs.intake.models import Instrument
from jobs.operations.calc.catalogue import Catalogue
from workshop.calendar.words import day_words_year


def assessments_to_quote(instrument: Instrument) -> QuerySet[Assessment]:
    """Return the assessments of an instrument, newest first, with ``kept``: how many of their findings were kept."""
    kept = Count("findings", filter=Q(findings__state=Finding.State.KEPT))
    return Assessment.objects.filter(instrument=instrument).annotate(kept=kept).order_by("-on", "-id")


def assessment_to_quote(instrument: Instrument) -> Assessment | None:
    """Return the newest assessment with kept findings, else the newest: what a quote is ordinarily begun from."""
    found = Assessment.objects.filter(instrument=instrument).order_by("-on", "-id")
    return found.filter(findings__state=Finding.State.KEPT).first() or found.first()


def opening_words(instrument: Instrument, assessment: Assessment | None) -> str:
    """Return the words a letter opens with, for the manager to change."""
    if assessment is None:
        return (
            f"Thank you for asking us about your {instrument.words}. Below we set out what we would do, and what it "
            "would cost. Please ask about anything that is not clear."
        )
    return (
        f"Thank you for letting us look at your {instrument.words}. We examined it on "
        f"{day_words_year(assessment.on)}. Below is what we found, in plain words, and what we would do about it. "
        "Each way is honest work and complete in itself. Please ask about anything that is not clear."
    )


def proposed_codes(assessment: Assessment | None, kind: str, cat: Catalogue) -> list[str]:
    """Return the operations the kept findings point to, by severity, at most one of each group of alternatives."""
    if assessment is None:
        return []
    order = {severity: place for place, severity in enumerate(("safety", "playing", "wear", "looks"))}
    kept = sorted(
        assessment.findings.filter(state=Finding.State.KEPT).prefetch_related("operations"),
        key=lambda finding: (order[finding.severity], finding.position, finding.pk),
    )
    return _without_rivals((op.code for finding in kept for op in finding.operations.all()), kind, cat)


def _without_rivals(codes: Iterable[str], kind: str, cat: Catalogue) -> list[str]:
    taken: set[str] = set()
    found: list[str] = []
    for code in dict.fromkeys(codes):
        groups = set(cat.groups_of(code))
        if code in cat and cat.operations[code].fits(kind) and not groups & taken:
            taken |= groups
            found.append(code)
    return found

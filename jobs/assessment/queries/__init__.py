"""Questions about assessments: what was read, what is ordinary, what was found."""

from jobs.assessment.queries.assessments import (
    assessment_record,
    assessments_of,
    earlier_humidity,
    findings_for,
    findings_of,
    keys_read,
    latest_assessment,
    readings_of,
)
from jobs.assessment.queries.climate import ClimateWords, climate_words
from jobs.assessment.queries.entry import Entry, entry_at, reading_at
from jobs.assessment.queries.imports import Preview, import_preview
from jobs.assessment.queries.measures import (
    RangeLine,
    grade_words,
    is_note_by_note,
    measure_for,
    measures_for,
    ordinary_words,
    range_of,
    ranges_listed,
)
from jobs.assessment.queries.page import AssessmentPage, assessment_page
from jobs.assessment.queries.strips import against_words, reading_words, spot_words, strip_for, strip_of

__all__ = [
    "AssessmentPage",
    "ClimateWords",
    "Entry",
    "Preview",
    "RangeLine",
    "against_words",
    "assessment_page",
    "assessment_record",
    "assessments_of",
    "climate_words",
    "earlier_humidity",
    "entry_at",
    "findings_for",
    "findings_of",
    "grade_words",
    "import_preview",
    "is_note_by_note",
    "keys_read",
    "latest_assessment",
    "measure_for",
    "measures_for",
    "ordinary_words",
    "range_of",
    "ranges_listed",
    "reading_at",
    "reading_words",
    "readings_of",
    "spot_words",
    "strip_for",
    "strip_of",
]

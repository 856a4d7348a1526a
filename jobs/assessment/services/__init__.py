"""Changes: assessments, readings, findings, remarks and photographs."""

from jobs.assessment.services.assessments import assessment_finish, assessment_reopen, assessment_start, remark_keep
from jobs.assessment.services.findings import (
    finding_add,
    finding_change,
    finding_keep,
    finding_strike,
    findings_work_out,
)
from jobs.assessment.services.imports import readings_import
from jobs.assessment.services.photographs import photograph_keep
from jobs.assessment.services.readings import RowsRefused, reading_keep, reading_take_back, readings_keep

__all__ = [
    "RowsRefused",
    "assessment_finish",
    "assessment_reopen",
    "assessment_start",
    "finding_add",
    "finding_change",
    "finding_keep",
    "finding_strike",
    "findings_work_out",
    "photograph_keep",
    "reading_keep",
    "reading_take_back",
    "readings_import",
    "readings_keep",
    "remark_keep",
]

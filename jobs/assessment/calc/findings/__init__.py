"""From readings to findings: records in, one sentence an owner understands out, with what stands behind it."""

from jobs.assessment.calc.findings.records import FindingDraft, Measure, Pointer, Reading, RoomClimate
from jobs.assessment.calc.findings.work_out import findings

__all__ = ["FindingDraft", "Measure", "Pointer", "Reading", "RoomClimate", "findings"]

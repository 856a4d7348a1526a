"""What an early step shows of a later one, handed over as plain data."""

import datetime as dt
from decimal import Decimal

from jobs.assessment.models import Assessment
from jobs.billing.assessment_page import AssessmentMoney
from jobs.billing.assessment_page import assessment_money as money_of_assessment
from jobs.billing.models import Invoice
from jobs.billing.queries import asked_before
from jobs.desk.queries.completion import JobAtEnd, job_at_end
from jobs.estimating.said import Asked, HoursSaid, hours_said
from jobs.estimating.services import estimator
from jobs.hours import queries as hours_queries
from jobs.intake.models import Instrument
from jobs.operations.models import Operation
from jobs.quoting.models import Quote
from jobs.scheduling import queries as scheduling_queries
from jobs.supplies import queries as supplies_queries
from jobs.worklist.models import Job


def assessment_money(assessment: Assessment, today: dt.date) -> AssessmentMoney | None:
    """Return how an assessment is paid for, for the page of the step before billing; None where nothing can be said."""
    return money_of_assessment(assessment, today)


def invoices_coming_off(quote: Quote) -> list[tuple[Invoice, list[int]]]:
    """Return assessments invoiced alone, each with the ways that take it off, for the step before billing."""
    return asked_before(quote)


def minutes_logged(job: Job) -> dict[int, int]:
    """Return task -> minutes logged, for steps that come before hours."""
    return hours_queries.hours_of(job)


def norm_said(operation: Operation) -> HoursSaid:
    """Return what is expected of an operation and on what evidence, for the step before hours are estimated."""
    given = estimator()
    hours = given.learned(code=operation.code, norm=float(operation.hours_likely))
    return hours_said([Asked(operation, Decimal(1), Instrument.Kind.GRAND, hours)], given)[0]


def parts_on_card(job: Job, stage: str = "") -> list[tuple[str, str, str]]:
    """Return the parts of a job, or of one stage, for its card: part, measure, state; for the step before supplies."""
    needs = [need for need in supplies_queries.needs_of(job) if stage in ("", need.task.stage)]
    return [(str(need.part), need.measure or "–", str(need.get_state_display())) for need in needs]


def work_in_hand() -> dict[str, dict[int, int]]:
    """Return what the plan asks of the step of hours: ``logged`` minutes of open tasks, ``working`` who has them."""
    return {"logged": hours_queries.minutes_of_open_tasks(), "working": hours_queries.people_at_work()}


def work_begins() -> dict[int, dt.date]:
    """Return task id -> the day its first stint begins in the plan in force, for steps that come before the plan."""
    return scheduling_queries.planned_starts()


def job_ends(job: Job) -> JobAtEnd | None:
    """Return where a job ends, whole and by stage, for the page of the step before hours; None without tasks."""
    return job_at_end(job)

"""The record of one instrument: where it stands on the line, what was found, sold, planned, written."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import OuterRef, Subquery
from django.urls import reverse
from django.utils import timezone

from jobs.assessment.models import Assessment, Photograph
from jobs.assessment.queries import AssessmentPage, assessment_page, assessments_of
from jobs.billing.models import Invoice
from jobs.hours.queries import hours_of
from jobs.intake.models import Enquiry, Instrument
from jobs.quoting.models import Quote
from jobs.scheduling.models import JobEnd, Promise
from jobs.scheduling.queries import planned_end
from jobs.updates.models import Update
from jobs.updates.queries import updates_of
from jobs.verification.models import Proof
from jobs.worklist.models import Job, Variation
from jobs.worklist.queries import OPEN, StageState, stages_of
from workshop.calendar.words import day_words


@dataclass(frozen=True)
class Step:
    """One pin on the path of an instrument: done, at work or to come."""

    words: str
    state: str
    when: str


@dataclass(frozen=True)
class PaperRow:
    """One paper about the instrument."""

    words: str
    on: dt.date
    mark: str
    state: str
    url: str


@dataclass(frozen=True)
class Record:
    """Everything on the record page."""

    instrument: Instrument
    enquiry: Enquiry | None
    assessments: tuple[Assessment, ...]
    first: AssessmentPage | None
    quotes: tuple[Quote, ...]
    job: Job | None
    stages: tuple[StageState, ...]
    steps: tuple[Step, ...]
    promise: Promise | None
    end: JobEnd | None
    variations: tuple[Variation, ...]
    updates: tuple[Update, ...]
    photographs: tuple[Photograph, ...]
    papers: tuple[PaperRow, ...]

    @property
    def quote(self) -> Quote | None:
        """Return the newest quote."""
        return self.quotes[0] if self.quotes else None

    @property
    def may_quote(self) -> bool:
        """Tell whether a quote can begin: something was read, no quote is open, and no job is under way."""
        read = self.first is not None and self.first.assessment.finished_at is not None
        waiting = any(quote.state in (Quote.State.DRAFT, Quote.State.SENT) for quote in self.quotes)
        return read and not waiting and (self.job is None or self.job.state not in OPEN)

    @property
    def hours_likely(self) -> Decimal:
        """Return the likely hours of all stages."""
        return sum((stage.hours_likely for stage in self.stages), Decimal(0))

    @property
    def hours_logged(self) -> Decimal:
        """Return the hours logged on all stages."""
        return sum((stage.hours_logged for stage in self.stages), Decimal(0))

    @property
    def days_in_hand(self) -> int | None:
        """Return the days between the planned end and the promise; below nought: late."""
        if self.promise is None or self.end is None:
            return None
        return (self.promise.date - self.end.ends_on).days


def record_of(instrument: Instrument, *, money: bool) -> Record:
    """Return the record of an instrument; ``money``: whether the reader may see invoices."""
    assessments = tuple(assessments_of(instrument))
    first = next((one for one in assessments if one.purpose == Assessment.Purpose.FIRST), None)
    quotes = tuple(instrument.quotes.prefetch_related("scopes").select_related("answer__scope").order_by("-number"))
    job = instrument.jobs.select_related("scope", "quote").first()
    minutes: Mapping[int, int] = hours_of(job) if job else {}
    stages = tuple(stages_of(job, minutes)) if job else ()
    promise = job.promises.first() if job else None
    return Record(
        instrument=instrument,
        enquiry=instrument.enquiries.first(),
        assessments=assessments,
        first=assessment_page(first) if first else None,
        quotes=quotes,
        job=job,
        stages=stages,
        steps=_steps(first, quotes, job, stages),
        promise=promise,
        end=planned_end(job) if job else None,
        variations=tuple(job.variations.all()) if job else (),
        updates=tuple(updates_of(instrument)[:12]),
        photographs=tuple(instrument.photographs.all()),
        papers=tuple(_papers(assessments, quotes, job, money=money)),
    )


def _steps(
    first: Assessment | None, quotes: tuple[Quote, ...], job: Job | None, stages: tuple[StageState, ...]
) -> tuple[Step, ...]:
    steps = [_assessed(first), _quoted(quotes, job)]
    if job is None:
        return (*steps, Step("Work", "to_come", ""), Step("Proof", "to_come", ""))
    arrived = (
        Step("Arrived", "done", day_words(job.booked_in_on)) if job.booked_in_on else Step("Arrives", "to_come", "")
    )
    work = [Step(stage.words, stage.state, "") for stage in stages if stage.stage not in ("assessing", "finish")]
    done = (
        Step("Home again", "done", day_words(job.returned_on)) if job.returned_on else Step("Home again", "to_come", "")
    )
    if job.state == Job.State.READY:
        done = Step("Ready", "at_work", day_words(job.finished_on) if job.finished_on else "")
    return (*steps, arrived, *work, done)


def _assessed(first: Assessment | None) -> Step:
    if first is None:
        return Step("Assessed", "to_come", "")
    return Step("Assessed", "done" if first.finished_at else "at_work", day_words(first.on))


def _quoted(quotes: tuple[Quote, ...], job: Job | None) -> Step:
    """Return the step of the quote the job came from; without a job, of the newest quote."""
    quote = next((one for one in quotes if job is not None and one.pk == job.quote_id), quotes[0] if quotes else None)
    if quote is None:
        return Step("Accepted", "to_come", "")
    if quote.state == Quote.State.ACCEPTED:
        return Step("Accepted", "done", day_words(timezone.localdate(quote.answer.at)))
    return Step("Quoted", "at_work", quote.get_state_display())


def _papers(
    assessments: tuple[Assessment, ...], quotes: tuple[Quote, ...], job: Job | None, *, money: bool
) -> list[PaperRow]:
    papers = [
        PaperRow(
            f"{one.get_purpose_display().capitalize()} assessment, with all readings",
            one.on,
            "full" if one.finished_at else "half",
            "finished" if one.finished_at else "being read",
            reverse("assessment-pdf", args=[one.pk]),
        )
        for one in assessments
    ]
    if money:
        papers += [_quote_paper(quote) for quote in quotes]
    if money:
        alone = Invoice.objects.filter(assessment__in=assessments)
        papers += [_invoice_paper(one) for one in alone]
    if job is not None:
        papers += _job_papers(job, money=money)
    return sorted(papers, key=lambda paper: (paper.on, paper.words), reverse=True)


def _quote_paper(quote: Quote) -> PaperRow:
    marks = {"draft": "pencil", "sent": "gone", "accepted": "full"}
    on = quote.sent_at or quote.created_at
    return PaperRow(
        f"Quote {quote.number}",
        on.date(),
        marks.get(quote.state, "struck"),
        str(quote.get_state_display()),
        reverse("quote-pdf", args=[quote.number]),
    )


def _job_papers(job: Job, *, money: bool) -> list[PaperRow]:
    papers = [PaperRow("Job card", job.accepted_on, "half", "for the bench", reverse("job-card-pdf", args=[job.pk]))]
    papers += [
        PaperRow(
            f"Variation {one.number}",
            (one.sent_at or one.found_at).date(),
            "full" if one.state == Variation.State.AGREED else "gone",
            str(one.get_state_display()),
            reverse("variation-pdf", args=[one.pk]),
        )
        for one in job.variations.exclude(state__in=(Variation.State.FOUND, Variation.State.WITHDRAWN))
    ]
    if money:
        papers += [_invoice_paper(one) for one in Invoice.objects.filter(job=job)]
    proof = Proof.objects.filter(job=job, signed_at__isnull=False).first()
    if proof is not None and proof.signed_at:
        papers.append(
            PaperRow(
                "The proof", timezone.localdate(proof.signed_at), "full", "signed", reverse("proof-pdf", args=[job.pk])
            )
        )
    return papers


def _invoice_paper(invoice: Invoice) -> PaperRow:
    return PaperRow(
        f"{invoice.get_kind_display()}, invoice {invoice.number}",
        invoice.issued_on,
        "gone" if invoice.stands else "struck",
        "sent" if invoice.stands else "credited",
        reverse("invoice-pdf", args=[invoice.number]),
    )


def instruments_listed() -> Any:
    """Return all instruments for the list, with what their newest job and quote say."""
    jobs = Job.objects.filter(instrument=OuterRef("pk")).order_by("-pk")
    quotes = Quote.objects.filter(instrument=OuterRef("pk")).order_by("-number")
    promises = Promise.objects.filter(job__instrument=OuterRef("pk")).order_by("-given_at", "-pk")
    ends = JobEnd.objects.filter(plan__is_current=True, job__instrument=OuterRef("pk"))
    return Instrument.objects.select_related("client").annotate(
        job_state=Subquery(jobs.values("state")[:1]),
        quote_state=Subquery(quotes.values("state")[:1]),
        promised=Subquery(promises.values("date")[:1]),
        planned=Subquery(ends.values("ends_on")[:1]),
    )

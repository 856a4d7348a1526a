"""What the client's pages show, gathered for one instrument."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Q, QuerySet
from django.utils import timezone

from jobs.assessment.models import Assessment, Finding, Measure, Photograph, SpotKind
from jobs.assessment.queries import strip_for
from jobs.billing.models import Invoice
from jobs.billing.queries import invoices_of_instrument, open_invoices
from jobs.intake.models import Instrument
from jobs.quoting.models import Quote, Scope, ScopeOperation
from jobs.scheduling.models import Promise
from jobs.updates.models import Update
from jobs.verification.models import Proof
from jobs.worklist.models import Job, Variation
from jobs.worklist.queries import StageState, stages_of
from workshop.keyboard.strip import Strip

MOST_STRIPS = 3  # a letter, not an appendix: the readings are in the PDF


@dataclass(frozen=True)
class FoundWords:
    """One finding as the owner reads it, with its picture if it is read note by note."""

    finding: Finding
    strip: Strip | None


@dataclass(frozen=True)
class Way:
    """One scope side by side with the others: its figures as sent, and what is done in plain words."""

    scope: Scope
    done: tuple[str, ...]
    left_out: tuple[ScopeOperation, ...]


@dataclass(frozen=True)
class Letter:
    """Everything the first page of the portal shows."""

    instrument: Instrument
    found: tuple[FoundWords, ...]
    quote: Quote | None
    ways: tuple[Way, ...]
    photographs: tuple[Photograph, ...]
    cautions: tuple[str, ...]
    open_for_answer: bool


def letter_of(instrument: Instrument) -> Letter:
    """Return the letter about an instrument: the newest quote that was sent, and the findings it rests on."""
    quote = (
        instrument.quotes.exclude(state=Quote.State.DRAFT)
        .select_related("answer__scope", "assessment", "sent_by")
        .order_by("-number")
        .first()
    )
    assessment = quote.assessment if quote else None
    today = timezone.localdate()
    can_answer = bool(
        quote and quote.state == Quote.State.SENT and (quote.valid_until is None or quote.valid_until >= today)
    )
    return Letter(
        instrument=instrument,
        found=_found(assessment),
        quote=quote,
        ways=_ways(quote),
        photographs=tuple(
            Photograph.objects.filter(assessment=assessment, for_client=True) if assessment is not None else ()
        ),
        cautions=tuple(line for line in instrument.cautions.splitlines() if line.strip()),
        open_for_answer=can_answer,
    )


def _found(assessment: Assessment | None) -> tuple[FoundWords, ...]:
    if assessment is None:
        return ()
    kept = assessment.findings.filter(state=Finding.State.KEPT).select_related("measure")
    found: list[FoundWords] = []
    drawn: set[int] = set()
    at_notes = assessment.readings.filter(spot_kind=SpotKind.NOTE, value__isnull=False)
    can_be_drawn = set(at_notes.values_list("measure", flat=True))
    for finding in kept:
        measure: Measure | None = finding.measure
        strip = None
        if measure and measure.pk in can_be_drawn - drawn and len(drawn) < MOST_STRIPS:
            strip = strip_for(assessment, measure)
            drawn.add(measure.pk)
        found.append(FoundWords(finding, strip))
    return tuple(found)


def _ways(quote: Quote | None) -> tuple[Way, ...]:
    if quote is None:
        return ()
    ways = []
    for scope in quote.scopes.prefetch_related("operations__operation").order_by("position"):
        rows = list(scope.operations.all())
        done = [row.words or row.operation.in_plain_words for row in rows if row.because == row.Because.CHOSEN]
        refused = tuple(row for row in rows if row.because == row.Because.REFUSED)
        ways.append(Way(scope, tuple(done), refused))
    return tuple(ways)


@dataclass(frozen=True)
class Following:
    """Where the work stands, for the client."""

    job: Job
    stages: tuple[StageState, ...]
    promise: Promise | None
    earlier: tuple[Promise, ...]
    variations: tuple[Variation, ...]
    updates: tuple[Update, ...]
    invoices: tuple[Invoice, ...]
    proof: Proof | None

    @property
    def to_answer(self) -> Variation | None:
        """Return the variation that waits for the client."""
        return next((one for one in self.variations if one.state == Variation.State.SENT), None)


def following_of(instrument: Instrument) -> Following | None:
    """Return where the newest job of an instrument stands; None before anything was accepted."""
    job = instrument.jobs.select_related("scope", "quote").first()
    if job is None:
        return None
    promises = list(job.promises.all())
    return Following(
        job=job,
        stages=tuple(stages_of(job)),
        promise=promises[0] if promises else None,
        earlier=tuple(promises[1:]),
        variations=tuple(
            job.variations.exclude(state__in=(Variation.State.FOUND, Variation.State.WITHDRAWN)).order_by("number")
        ),
        updates=tuple(instrument.updates.filter(state=Update.State.RELEASED).order_by("-released_at")[:20]),
        invoices=open_for(instrument, job),
        proof=Proof.objects.filter(job=job, signed_at__isnull=False).first(),
    )


def open_for(instrument: Instrument, job: Job | None = None) -> tuple[Invoice, ...]:
    """Return what the owner of an instrument has to pay: for a job, and for assessments invoiced on their own."""
    about = Q(assessment__instrument=instrument)
    return tuple(open_invoices().filter(about | Q(job=job) if job is not None else about))


@dataclass(frozen=True)
class Paper:
    """One paper the client may open: its kind and key for the address, and how it is named."""

    kind: str
    key: int
    words: str
    on: dt.date
    state: str
    amount: Decimal | None = None


def papers_of(instrument: Instrument) -> list[Paper]:
    """Return the papers of an instrument's owner, newest first."""
    papers = [
        Paper(
            "quote", quote.number, f"Quote {quote.number}", timezone.localdate(quote.sent_at), quote.get_state_display()
        )
        for quote in instrument.quotes.exclude(state=Quote.State.DRAFT)
        if quote.sent_at
    ]
    papers += [
        Paper(
            "variation",
            one.pk,
            f"Variation {one.number}",
            timezone.localdate(one.sent_at),
            one.get_state_display(),
            one.total,
        )
        for one in variations_of(instrument)
        if one.sent_at
    ]
    papers += [
        Paper(
            "invoice", one.number, f"{one.get_kind_display()}, invoice {one.number}", one.issued_on, "sent", one.total
        )
        for one in invoices_of_instrument(instrument)
    ]
    papers += [
        Paper("proof", one.job_id, "The proof: readings before and after", timezone.localdate(one.signed_at), "signed")
        for one in Proof.objects.filter(job__instrument=instrument, signed_at__isnull=False)
        if one.signed_at
    ]
    return sorted(papers, key=lambda paper: (paper.on, paper.words), reverse=True)


def variations_of(instrument: Instrument) -> QuerySet[Variation]:
    """Return the variations a client may see: those that were sent."""
    return Variation.objects.filter(job__instrument=instrument).exclude(
        state__in=(Variation.State.FOUND, Variation.State.WITHDRAWN)
    )

"""What the manager must decide, gathered from every step."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from django.urls import reverse
from django.utils import timezone

from jobs.assessment.models import Assessment, Finding
from jobs.intake.models import Enquiry
from jobs.quoting.models import Answer, Quote, TalkWish
from jobs.scheduling.offered import offer_words
from jobs.scheduling.queries import plans_offered
from jobs.worklist.models import Job, Variation
from jobs.worklist.queries import variations_waiting
from workshop.calendar.words import count_words, day_words
from workshop.money.words import money


@dataclass(frozen=True)
class Decision:
    """One thing the manager must decide: a state word, a sentence, what hangs on it, and where to do it."""

    word: str
    mark: str
    what: str
    instrument: str
    instrument_url: str
    why: str
    button: str
    url: str
    since: dt.date


def decisions_open(today: dt.date) -> list[Decision]:
    """Return what waits for a decision, the oldest first."""
    found = [*_plans(), *_talks(), *_answered(today), *_variations(), *_to_confirm(), *_enquiries()]
    return sorted(found, key=lambda one: (one.since, one.word))


def _record(number: int) -> str:
    return reverse("desk-instrument", args=[number])


def _answered(today: dt.date) -> list[Decision]:
    """Accepted quotes whose instrument has not arrived: say when it comes."""
    waiting = Answer.objects.filter(quote__job__state=Job.State.ACCEPTED, kind=Answer.Kind.ACCEPTED)
    rows = waiting.select_related("quote__instrument__client", "quote__job", "scope")
    made = [
        Decision(
            word="Quote accepted",
            mark="pin",
            what=f"{row.name} chose “{row.scope.title}”" if row.scope else f"{row.name} accepted",
            instrument=str(row.quote.instrument),
            instrument_url=_record(row.quote.instrument.number),
            why=_words(row.words)
            or f"{money(row.scope.total_likely or Decimal(0)) if row.scope else ''} with VAT, if all goes as usual.",
            button="Book it in",
            url=reverse("job-show", args=[row.quote.job.pk]),
            since=timezone.localdate(row.at),
        )
        for row in rows
    ]
    lapsing = Quote.objects.filter(state=Quote.State.SENT, valid_until__lt=today + dt.timedelta(days=5))
    made += [
        Decision(
            word="Quote unanswered",
            mark="pin",
            what=f"{quote.instrument.client} has not answered quote {quote.number}",
            instrument=str(quote.instrument),
            instrument_url=_record(quote.instrument.number),
            why=f"It holds until {day_words(quote.valid_until)}." if quote.valid_until else "",
            button="Look at the quote",
            url=reverse("quote-show", args=[quote.number]),
            since=timezone.localdate(quote.sent_at) if quote.sent_at else today,
        )
        for quote in lapsing.select_related("instrument__client")
    ]
    return made


def _plans() -> list[Decision]:
    """A plan that would move what people were told."""
    offered = plans_offered()
    return [
        Decision(
            word="Plan",
            mark="pin",
            what=f"A new plan waits: {offer_words(offered)}",
            instrument="",
            instrument_url="",
            why=one.why,
            button="See what it changes",
            url=reverse("plan-offered"),
            since=timezone.localdate(one.made_at),
        )
        for one in offered[:1]
    ]


def _talks() -> list[Decision]:
    rows = TalkWish.objects.filter(settled_at=None).select_related("quote__instrument__client")
    return [
        Decision(
            word="Wants to talk",
            mark="pin",
            what=f"{row.quote.instrument.client} would like to talk about quote {row.quote.number}",
            instrument=str(row.quote.instrument),
            instrument_url=_record(row.quote.instrument.number),
            why=" ".join(filter(None, [_words(row.words), row.quote.instrument.client.phone])),
            button="Open the quote",
            url=reverse("quote-show", args=[row.quote.number]),
            since=timezone.localdate(row.at),
        )
        for row in rows
    ]


def _words(text: str) -> str:
    return f"“{text[:160]}”" if text else ""


def _variations() -> list[Decision]:
    made = []
    for row in variations_waiting():
        if row.state != Variation.State.FOUND:
            continue
        made.append(
            Decision(
                word="Variation",
                mark="pin",
                what=f"{row.found_by} found something",
                instrument=str(row.job.instrument),
                instrument_url=_record(row.job.instrument.number),
                why=f"{row.found} {row.job.instrument.client} has not been told.",
                button="Price and send",
                url=reverse("variation-price", args=[row.pk]),
                since=timezone.localdate(row.found_at),
            )
        )
    return made


def _to_confirm() -> list[Decision]:
    rows = (
        Assessment.objects.filter(finished_at__isnull=False, findings__state=Finding.State.PROPOSED)
        .select_related("instrument")
        .prefetch_related("findings")
        .distinct()
    )
    made = []
    for row in rows:
        open_ones = [finding for finding in row.findings.all() if finding.state == Finding.State.PROPOSED]
        made.append(
            Decision(
                word="Findings to confirm" if len(open_ones) > 1 else "Finding to confirm",
                mark="pin",
                what=open_ones[0].sentence.rstrip("."),
                instrument=str(row.instrument),
                instrument_url=_record(row.instrument.number),
                why=f"{count_words(len(open_ones)).capitalize()} in all, from the readings of {day_words(row.on)}."
                if len(open_ones) > 1
                else open_ones[0].why[:200],
                button="Look at the readings",
                url=reverse("assessment-show", args=[row.pk]),
                since=row.on,
            )
        )
    return made


def _enquiries() -> list[Decision]:
    rows = Enquiry.objects.filter(state=Enquiry.State.OPEN).select_related("instrument__client")
    return [
        Decision(
            word="Enquiry",
            mark="pin",
            what=f"{row.instrument.client} asks",
            instrument=str(row.instrument),
            instrument_url=_record(row.instrument.number),
            why=_words(row.aim),
            button="Read and assess",
            url=_record(row.instrument.number),
            since=row.received_on,
        )
        for row in rows
    ]

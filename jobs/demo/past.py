"""Two years of finished jobs: sold, done, paid and gone home."""

import datetime as dt
import random
from collections.abc import Mapping
from decimal import Decimal

from jobs.billing.models import Invoice
from jobs.billing.services import invoice_issue, payment_keep
from jobs.demo.moments import Moments
from jobs.demo.names import MAKERS
from jobs.demo.scopes import SOLD_BEFORE, Package
from jobs.demo.working import Bench, before_of, tasks_in_order
from jobs.intake.models import Client, Instrument
from jobs.intake.services import instrument_write
from jobs.operations.models import Operation
from jobs.quoting.models import Quote, Scope
from jobs.quoting.services import quote_answer, quote_send, quote_start, scope_add, scope_write
from jobs.worklist.models import Job, Task
from jobs.worklist.services import job_open
from workshop.people.models import Person

FIRST_NUMBER = 121  # of an instrument, so that the newest of the past stands before the present ones
LAST_BEGUN = -205  # days from today: what began later belongs to the present


def past_build(
    *,
    people: Mapping[str, Person],
    clients: list[Client],
    bench: Bench,
    moments: Moments,
    rng: random.Random,
) -> int:
    """Write the finished jobs of two years; return how many."""
    sold = [(package, kind) for package, kind, often in SOLD_BEFORE for _ in range(often)]
    rng.shuffle(sold)
    # Long work first, so that all of the past is over before the present begins.
    sold[-36:] = sorted(sold[-36:], key=lambda one: -len(one[0].codes))
    first = -730
    step = (LAST_BEGUN - first) / len(sold)
    for place, (package, kind) in enumerate(sold):
        day = round(first + place * step)
        client = clients[rng.randrange(len(clients))]
        _one(FIRST_NUMBER + place, package, kind, day, client, people=people, bench=bench, moments=moments, rng=rng)
    bench.write()
    return len(sold)


def _one(
    number: int,
    package: Package,
    kind: str,
    day: int,
    client: Client,
    *,
    people: Mapping[str, Person],
    bench: Bench,
    moments: Moments,
    rng: random.Random,
) -> None:
    tamsin = people["Tamsin"]
    instrument = instrument_write(
        client=client,
        kind=kind,
        by=tamsin,
        number=number,
        maker=rng.choice(MAKERS),
        year=rng.randint(1885, 1975),
        size_cm=rng.randint(150, 215) if kind == "grand" else rng.randint(108, 134),
        last_key=rng.choice((85, 88)),
        last_wound_key=rng.randint(20, 29),
    )
    quote = sell(
        instrument_quote(instrument, tamsin, moments, day), [package], 0, client.name, tamsin, moments, day + 9
    )
    job = job_open(quote=quote, by=tamsin, at=moments.at(day + 9))
    arrived = moments.day(day + 20)
    tasks = tasks_in_order(job)
    done = bench.work(tasks, arrived, before=before_of(tasks))
    bench.write()
    still = job.tasks.exclude(state=Task.State.DONE).exists()
    finish(job, arrived, done, still_open=still)
    _pay(job, tamsin, moments, day + 9, done)


def instrument_quote(instrument: Instrument, by: Person, moments: Moments, day: int) -> Quote:
    """Return a quote begun on that day without an assessment of its own."""
    return quote_start(instrument=instrument, assessment=None, by=by, at=moments.at(day, 11))


def scopes_write(quote: Quote, packages: list[Package]) -> list[Scope]:
    """Write the scopes of a draft from packages; return them in order."""
    scopes = list(quote.scopes.order_by("position"))
    while len(scopes) < len(packages):
        scopes.append(scope_add(quote=quote))
    kind = quote.instrument.kind
    fits = set(Operation.objects.filter(applies_to__in=("both", kind)).values_list("code", flat=True))
    for scope, package in zip(scopes, packages, strict=True):
        chosen = {
            code: (Decimal(package.counts[code]) if code in package.counts else None)
            for code in sorted(package.codes & fits)
        }
        scope_write(
            scope=scope,
            chosen=chosen,
            refused={},
            title=package.title,
            notice=package.notice,
            stays_open=package.stays_open,
        )
    return scopes


def sell(
    quote: Quote, packages: list[Package], choice: int, name: str, by: Person, moments: Moments, day: int
) -> Quote:
    """Write scopes, send the quote and have one of them accepted nine days after."""
    scopes_write(quote, packages)
    sent = quote_send(quote=quote, by=by, at=moments.at(day - 7, 16))
    scope = sent.scopes.order_by("position")[choice]
    quote_answer(
        quote=sent,
        scope=scope,
        name=name,
        words="",
        at=moments.at(day, 19),
        via="private link",
        content_hash=sent.content_hash,
    )
    return sent


def finish(job: Job, arrived: dt.date, done: dt.date, *, still_open: bool) -> None:
    """Mark a job of the past as gone home some days after its last task."""
    job.booked_in_on = arrived
    job.finished_on = done
    job.returned_on = None if still_open else done + dt.timedelta(days=3)
    job.state = Job.State.IN_HOUSE if still_open else Job.State.RETURNED
    job.save(update_fields=["booked_in_on", "finished_on", "returned_on", "state"])


def _pay(job: Job, by: Person, moments: Moments, accepted: int, done: dt.date) -> None:
    for point, on in (("deposit", moments.day(accepted)), ("balance", done)):
        invoice = invoice_issue(job=job, point=point, by=by, on=on)
        paid = min(on + dt.timedelta(days=6), moments.today)
        payment_keep(
            invoice=invoice,
            amount=invoice.total,
            on=paid,
            method="transfer",
            by=by,
            at=moments.on(paid, 12),
            note=f"{Invoice.Kind(invoice.kind).label} {invoice.number}",
        )

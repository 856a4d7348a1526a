"""Two years of finished jobs: sold, done, paid and gone home."""

import datetime as dt
import random
from collections.abc import Mapping
from decimal import Decimal

from jobs.billing.calc import BALANCE, DEPOSIT
from jobs.demo.ledger import Ledger
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
    ledger: Ledger,
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
        instrument = _instrument(FIRST_NUMBER + place, kind, client, people["Tamsin"], rng)
        _one(instrument, package, day, by=people["Tamsin"], bench=bench, ledger=ledger, moments=moments)
    bench.write()
    return len(sold)


def _instrument(number: int, kind: str, client: Client, by: Person, rng: random.Random) -> Instrument:
    return instrument_write(
        client=client,
        kind=kind,
        by=by,
        number=number,
        maker=rng.choice(MAKERS),
        year=rng.randint(1885, 1975),
        size_cm=rng.randint(150, 215) if kind == "grand" else rng.randint(108, 134),
        last_key=rng.choice((85, 88)),
        last_wound_key=rng.randint(20, 29),
    )


def _one(
    instrument: Instrument, package: Package, day: int, *, by: Person, bench: Bench, ledger: Ledger, moments: Moments
) -> None:
    """Sell one package, do the work, and note its invoices."""
    quote = sell(
        instrument_quote(instrument, by, moments, day), [package], 0, instrument.client.name, by, moments, day + 9
    )
    job = job_open(quote=quote, by=by, at=moments.at(day + 9))
    arrived = moments.day(day + 20)
    tasks = tasks_in_order(job)
    done = bench.work(tasks, arrived, before=before_of(tasks))
    bench.write()
    still = job.tasks.exclude(state=Task.State.DONE).exists()
    finish(job, arrived, done, still_open=still)
    ledger.ask(job, DEPOSIT, moments.day(day + 9))
    ledger.ask(job, BALANCE, done)


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

"""The fourteen instruments in hand: each at another point of the line."""

import datetime as dt
import random
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from jobs.assessment.models import Assessment
from jobs.assessment.services import assessment_start
from jobs.billing.calc import DEPOSIT
from jobs.demo import readings as curves
from jobs.demo import scopes as sold
from jobs.demo.assessed import Assessor, finish, first_assessment
from jobs.demo.ledger import Ledger
from jobs.demo.moments import Moments
from jobs.demo.names import rows
from jobs.demo.past import scopes_write, sell
from jobs.demo.scopes import Package
from jobs.demo.working import Bench, before_of, tasks_in_order
from jobs.flow import letter_dates
from jobs.intake.models import Client, Instrument
from jobs.intake.services import enquiry_receive, instrument_write
from jobs.quoting.models import Quote
from jobs.quoting.services import quote_send, quote_start
from jobs.scheduling.services import promise_give
from jobs.supplies.services import needs_work_out
from jobs.verification.services import targets_write
from jobs.worklist.models import Job
from jobs.worklist.services import job_book_in, job_open
from workshop.people.models import Person


@dataclass(frozen=True)
class Scene:
    """One instrument with an accepted quote: what was sold, how long ago, how far the work is, what was promised."""

    number: int
    aim: str
    packages: tuple[Package, ...]
    choice: int
    accepted: int
    arrived: int | None
    share: float
    promised: int
    trouble: float
    weight: int = 2
    full: bool = False
    pace: float | None = None  # what all its tasks share, 1.2 for a fifth longer; None as it falls


ACCEPTED = (
    Scene(
        198,
        "The hall’s grand should sing again for the spring concert.",
        (sold.PLAYABLE, sold.CASE_TOO),
        1,
        -120,
        -104,
        0.55,
        6,
        0.6,
        5,
    ),
    Scene(
        203,
        "It was my grandmother’s. I want it to be played, not only looked at.",
        (sold.RENEW_ACTION, sold.RENEW_AND_BASS),
        1,
        -70,
        -48,
        0.22,
        118,
        0.9,
        3,
    ),
    Scene(
        207,
        "It stands in the music room and has six lessons a day.",
        (sold.UPRIGHT_ACTION,),
        0,
        -62,
        -45,
        0.3,
        95,
        0.8,
        3,
        pace=1.18,
    ),
    Scene(
        212,
        "I play two hours a day, and my left hand tires.",
        (sold.PLAYABLE, sold.RENEW_ACTION, sold.RENEW_AND_BASS),
        1,
        -85,
        -66,
        0.42,
        84,
        1.0,
        4,
        full=True,
    ),
    Scene(
        214,
        "It should be in tune again, and the case should not fall apart.",
        (sold.REVIVED,),
        0,
        -48,
        -30,
        0.35,
        62,
        0.5,
    ),
    Scene(215, "My daughter begins lessons.", (sold.PLAYABLE,), 0, -100, -88, 1.0, -4, 0.5),
    Scene(220, "The bass is dead, and it will not stay in tune.", (sold.RESTRING,), 0, -56, -40, 0.4, 74, 0.7),
    Scene(224, "It plays unevenly.", (sold.PLAYABLE,), 0, -75, -60, 0.82, 24, 0.5, 2),
    Scene(
        216,
        "Can it still be made good enough for the children?",
        (sold.TUNE_ONLY, sold.REVIVED),
        1,
        0,
        None,
        0.0,
        128,
        0.6,
    ),
)

ASSESSED_ALONE = 224  # its assessment was invoiced before the owner made up her mind


@dataclass
class Shop:
    """What building a scene needs."""

    people: Mapping[str, Person]
    clients: Mapping[str, Client]
    bench: Bench
    ledger: Ledger
    moments: Moments
    rng: random.Random
    given: dict[int, dict[str, str]] = field(
        default_factory=lambda: {int(row["number"]): row for row in rows("instruments.csv")}
    )

    @property
    def tamsin(self) -> Person:
        """Return the manager."""
        return self.people["Tamsin"]

    def instrument(self, number: int, aim: str, asked: int) -> Instrument:
        """Return an instrument of the list, written down with its enquiry."""
        row = self.given[number]
        instrument = instrument_write(
            client=self.clients[row["client"]],
            kind=row["kind"],
            by=self.tamsin,
            number=number,
            maker=row["maker"],
            year=int(row["year"]),
            year_is_estimate=row["estimate"] == "yes",
            size_cm=int(row["size_cm"]),
            first_key=int(row["first_key"]),
            last_key=int(row["last_key"]),
            last_wound_key=int(row["last_wound_key"]),
            bars_above=[int(key) for key in row["bars_above"].split(";") if key],
            finish=row["finish"],
            numbers=row["numbers"],
            cautions=row["cautions"],
        )
        enquiry_receive(instrument=instrument, aim=aim, received_on=self.moments.day(asked), by=self.tamsin)
        return instrument

    def assessed(
        self, instrument: Instrument, day: int, *, trouble: float, full: bool, keep: bool = True, humidity: str = "47"
    ) -> Assessment:
        """Return a finished first assessment of that day."""
        at = self.moments.at(day, 11)
        assessment = first_assessment(
            instrument,
            by=self.people["Edda"],
            on=self.moments.day(day),
            at=at,
            rng=self.rng,
            full=full,
            trouble=trouble,
            humidity=humidity,
        )
        finish(assessment, by=self.tamsin, at=self.moments.at(day, 16), keep=keep)
        return assessment


def accepted_build(shop: Shop, scene: Scene) -> Job:
    """Build one instrument whose quote was accepted, with the work done so far."""
    instrument = shop.instrument(scene.number, scene.aim, scene.accepted - 40)
    assessment = shop.assessed(instrument, scene.accepted - 20, trouble=scene.trouble, full=scene.full)
    quote = quote_start(
        instrument=instrument, assessment=assessment, by=shop.tamsin, at=shop.moments.at(scene.accepted - 9)
    )
    quote = sell(
        quote, list(scene.packages), scene.choice, instrument.client.name, shop.tamsin, shop.moments, scene.accepted
    )
    accepted = shop.moments.at(scene.accepted, 19 if scene.accepted else 7)
    job = job_open(quote=quote, by=shop.tamsin, at=accepted)
    job.weight = scene.weight
    job.arrives_on = None if scene.arrived is not None else shop.moments.day(12)
    job.save(update_fields=["weight", "arrives_on"])
    if scene.number == ASSESSED_ALONE:
        shop.ledger.ask_assessment(assessment, shop.moments.day(scene.accepted - 17))
    needs_work_out(job=job)
    targets_write(job=job)
    _promised(shop, scene, job)
    shop.ledger.ask(job, DEPOSIT, shop.moments.day(scene.accepted))
    if scene.arrived is not None:
        job_book_in(job=job, by=shop.tamsin, on=shop.moments.day(scene.arrived))
        job.refresh_from_db()
        _worked(shop, scene, job)
    return job


def _promised(shop: Shop, scene: Scene, job: Job) -> None:
    given = shop.moments.at(scene.accepted, 20 if scene.accepted else 7, 30)
    promise_give(
        job=job,
        date=max(shop.moments.day(scene.promised), given.date()),
        chance=Decimal("0.80"),
        by=shop.tamsin,
        at=given,
        reason="given with the quote",
    )


def _worked(shop: Shop, scene: Scene, job: Job) -> None:
    """Do the first tasks of a job; what they needed was there."""
    tasks = tasks_in_order(job)
    done = tasks[: round(len(tasks) * scene.share)]
    for task in done:
        needs = task.needs.exclude(state="here")
        needs.update(state="here", here_on=shop.moments.day(min(-1, (scene.arrived or 0) + 10)), measure="as measured")
    shop.bench.work(done, shop.moments.day(scene.arrived or 0), before=before_of(tasks), pace=scene.pace)
    shop.bench.write()


def asked_build(shop: Shop, at: dt.datetime) -> dict[str, Quote | Assessment]:
    """Build the instruments nothing was accepted for yet; return what the page of Today asks about."""
    made: dict[str, Quote | Assessment] = {}
    vanewood = shop.instrument(221, "My hands are small and tire; can the touch be made lighter?", -30)
    assessment = shop.assessed(vanewood, -16, trouble=0.9, full=True)
    made["open"] = _sent(shop, vanewood, assessment, [sold.PLAYABLE, sold.RENEW_ACTION, sold.RENEW_AND_BASS], -5, at)
    museum = shop.instrument(217, "The museum wants to hear it, and to keep all that is original.", -110)
    old = _sent(shop, museum, shop.assessed(museum, -95, trouble=0.8, full=False), [sold.RESTRING, sold.CASE_TOO], -80)
    old.state = Quote.State.LAPSED
    old.save(update_fields=["state"])
    if old.assessment is not None:
        shop.ledger.ask_assessment(old.assessment, shop.moments.day(-50))
    _sent(shop, museum, None, [sold.RESTRING], -3, at)
    strudwicke = shop.instrument(219, "The treble will not hold its pitch.", -21)
    dry = shop.assessed(strudwicke, -6, trouble=1.0, full=False, keep=False, humidity="31")
    made["confirm"] = dry
    draft = quote_start(instrument=strudwicke, assessment=dry, by=shop.tamsin, at=shop.moments.at(-2))
    scopes_write(draft, [sold.UPRIGHT_ACTION, sold.REVIVED])
    onslade = shop.instrument(222, "Some notes stick in winter.", -12)
    made["reading"] = _half_read(shop, onslade)
    shop.instrument(223, "Our first piano, a present. Is it worth anything?", -2)
    return made


def _sent(
    shop: Shop,
    instrument: Instrument,
    assessment: Assessment | None,
    packages: list[Package],
    day: int,
    dated: dt.datetime | None = None,
) -> Quote:
    """Return a quote sent on that day; with ``dated``, with the days its ways would be ready as planned then."""
    quote = quote_start(instrument=instrument, assessment=assessment, by=shop.tamsin, at=shop.moments.at(day - 2))
    scopes_write(quote, packages)
    ready, answer_by = letter_dates(quote, dated) if dated is not None else ({}, {})
    return quote_send(quote=quote, by=shop.tamsin, at=shop.moments.at(day, 16), ready=ready, answer_by=answer_by)


def _half_read(shop: Shop, instrument: Instrument) -> Assessment:
    """Return an assessment in the middle of being read: half of the notes."""
    assessment = assessment_start(
        instrument=instrument,
        purpose="first",
        on=shop.moments.today,
        by=shop.people["Edda"],
        where="bench",
        state_words="strings on, action in, dampers held off",
        temperature_c=Decimal("18.5"),
        humidity_percent=Decimal("47"),
    )
    assessor = Assessor(assessment, shop.moments.at(0, 8, 40), shop.rng)
    down, _ = curves.touch(instrument.compass, shop.rng, heavy_below=38, worst={18: 71.0, 36: 68.0})
    keys = list(instrument.compass)[:47]
    assessor.notes("down-weight", {key: down[key] for key in keys}, missing={33: "hammer or shank missing"})
    assessor.write()
    return assessment

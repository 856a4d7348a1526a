"""Building the demo shop, once, in the order in which a workshop comes to be."""

import datetime as dt
import random
from collections.abc import Callable

from django.db import transaction
from django.utils import timezone

from jobs.assessment.models import Assessment
from jobs.demo.diary import Diary
from jobs.demo.drawings import photographs_keep
from jobs.demo.events import events_build
from jobs.demo.ledger import Ledger
from jobs.demo.moments import Moments
from jobs.demo.names import rows
from jobs.demo.past import past_build
from jobs.demo.people import shelves_fill, shop_furnish
from jobs.demo.present import ACCEPTED, Shop, accepted_build, asked_build
from jobs.demo.unpaid import unpaid_build
from jobs.demo.working import Bench
from jobs.flow import hours_gathered
from jobs.intake.models import Client
from jobs.intake.services import client_write
from jobs.operations.queries import catalogue_held
from workshop.calendar.queries import shop_week
from workshop.house.queries import the_shop
from workshop.people.models import Person

SEED = 1887
PAYS_LATE = 220  # the instrument whose owner has not paid for a stage yet


def client_of(row: dict[str, str], by: Person) -> Client:
    """Return the client of one row of the file, written down."""
    return client_write(
        name=row["name"],
        salutation=row["salutation"],
        email=row["email"],
        phone=row["phone"],
        address=row["address"],
        by=by,
    )


@transaction.atomic
def demo_build(*, at: dt.datetime, say: Callable[[str], None]) -> None:
    """Build the whole demo shop as it stands at a moment; ``say`` is told what is being built.

    The reference data must be loaded. All of it is written, or nothing.
    """
    with catalogue_held():  # it is asked for some four hundred times, and no norm changes meanwhile
        _build(at, say)


def _build(at: dt.datetime, say: Callable[[str], None]) -> None:
    today = timezone.localtime(at).date()
    rng = random.Random(SEED)
    say("people, places and shelves")
    people = shop_furnish(today)
    week = shop_week(the_shop(), today - dt.timedelta(days=800), today + dt.timedelta(days=400))
    moments = Moments(today, week)
    shelves_fill(people, moments.at(-30))
    clients = [client_of(row, people["Tamsin"]) for row in rows("clients.csv")]
    bench = Bench(people.values(), Diary(week, today - dt.timedelta(days=1)), moments, rng)
    say("two years of finished jobs")
    ledger = Ledger(people["Tamsin"], moments)
    past_build(people=people, clients=clients, bench=bench, ledger=ledger, moments=moments, rng=rng)
    hours_gathered(at)
    say("the instruments in hand")
    shop = Shop(people, {client.name: client for client in clients}, bench, ledger, moments, rng)
    jobs = {scene.number: accepted_build(shop, scene) for scene in ACCEPTED}
    say("parts, variations, messages")
    events_build(shop, jobs, at)
    say("quotes with their days, invoices, pictures")
    asked_build(shop, at)
    for job in jobs.values():
        ledger.ask_stages(job, pays=job.instrument.number != PAYS_LATE)
    ledger.write()
    firsts = Assessment.objects.filter(purpose="first", instrument__number__in=jobs.keys() | {221})
    photographs_keep(people["Edda"], moments, {one.instrument.number: one for one in firsts})
    unpaid_build(people, moments)
    hours_gathered(at)

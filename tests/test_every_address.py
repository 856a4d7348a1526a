"""Every address of the house against every role: manager, technician, client by link, and a stranger.

The addresses come from the URLconf itself, so a new page without a row here fails the first test.
"""

import datetime as dt
from collections.abc import Iterator

import pytest
from django.db import connection, models
from django.http import HttpResponseBase
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone

from jobs.assessment.models import Assessment, Finding, MeasureRange, Photograph, Reading
from jobs.billing.models import EarlierInvoice, Invoice
from jobs.estimating.models import HoursImport, HoursLog
from jobs.hours.models import HouseTime, TimeEntry
from jobs.intake.models import Client as Owner
from jobs.intake.models import Enquiry, Instrument
from jobs.portal.access import COOKIE
from jobs.portal.models import ClientLink
from jobs.portal.services import link_make, link_open
from jobs.quoting.models import Quote, Scope, ScopeCharge, TalkWish
from jobs.supplies.models import Need
from jobs.updates.models import Update
from jobs.worklist.models import Job, Variation
from parts.catalogue.models import Part, Supplier
from parts.orders.models import OrderLine, PurchaseOrder
from tests.shop import shop  # noqa: F401
from workshop.calendar.models import Closure
from workshop.people.models import Leave, Person
from workshop.places.models import Place

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("shop")]

OPEN = {"people-sign-in", "people-sign-out", "portal-enter", "portal-gone"}
CLIENT = {
    "portal-home",
    "portal-follow",
    "portal-choose",
    "portal-agree",
    "portal-variation",
    "portal-paper",
    "portal-photograph",
}
# What a technician may use; everything that is named neither here nor above belongs to the manager alone.
TECHNICIAN = {
    "desk-today", "desk-instruments", "desk-instrument",
    "assessment-start", "assessment-show", "assessment-finish", "remark-add", "assessment-pdf", "assessment-csv",
    "assessment-import", "assessment-enter", "assessment-table", "reading-take-back",
    "finding-add", "photograph-add", "photograph-show",
    "job-show", "job-book-in", "job-card-pdf", "task-show", "variation-report", "variation-show",
    "parts-list", "part-show", "shelf-move", "wire-list", "order-receive", "order-list", "order-show",
    "needs-list", "need-shelf", "need-measure",
    "plan-show", "plan-task", "plan-tasks", "plan-date", "plan-csv", "plan-calendar", "plan-progress",
    "order-calendar",
    "bench-mine", "bench-stop", "bench-enter", "bench-start", "bench-close", "bench-left", "bench-correct",
    "proof-show", "proof-start", "proof-pdf", "hours-held",
    "assessment-hours", "job-visits", "house-time-take-back",
}  # fmt: skip


# The demo has no tables of past hours, wishes to talk or links, and an empty form names no mail: "not found" is right
# there.
NOBODYS = 999_999
NO_ROW = {"norms-take-back", "mail-doubtful", "quote-talked", "link-revoke"}


def addresses(resolver: URLResolver | None = None) -> Iterator[URLPattern]:
    """Yield every named address of the URLconf."""
    for entry in (resolver or get_resolver()).url_patterns:
        if isinstance(entry, URLResolver):
            yield from addresses(entry)
        elif entry.name:
            yield entry


def row_of(name: str) -> models.Model | None:
    """Return the row of the demo shop an address with a ``pk`` is tried on: the longest start of its name decides."""
    job = Job.objects.filter(state="in_house").latest("pk")
    draft_or_sent = Scope.objects.latest("pk")
    rows: dict[str, models.Model | None] = {
        "person": Person.objects.get(username="corin"),
        "leave": Leave.objects.first(),
        "leave-new": Person.objects.get(username="corin"),
        "place": Place.objects.first(),
        "closure": Closure.objects.first(),
        "order": PurchaseOrder.objects.first(),
        "order-line": OrderLine.objects.first(),
        "order-line-add": PurchaseOrder.objects.first(),
        "order-receive": OrderLine.objects.first(),
        "supplier": Supplier.objects.first(),
        "client": Owner.objects.first(),
        "enquiry": Enquiry.objects.first(),
        "assessment": Assessment.objects.first(),
        "assessment-invoice": Assessment.objects.filter(purpose="first", finished_at__isnull=False).first(),
        "earlier": EarlierInvoice.objects.first(),
        "remark": Assessment.objects.first(),
        "reading": Reading.objects.first(),
        "finding": Finding.objects.first(),
        "finding-add": Assessment.objects.first(),
        "range": MeasureRange.objects.first(),
        "photograph": Photograph.objects.first(),
        "portal-photograph": Photograph.objects.first(),
        "scope": draft_or_sent,
        "charge": ScopeCharge.objects.first(),
        "charge-add": draft_or_sent,
        "quote-talked": TalkWish.objects.first(),
        "job": job,
        "task": job.tasks.first(),
        "variation": Variation.objects.first(),
        "variation-report": job,
        "portal-variation": Variation.objects.first(),
        "need": Need.objects.first(),
        "promise": job,
        "plan": job.tasks.first(),
        "plan-date": job,
        "bench": job.tasks.first(),
        "bench-correct": TimeEntry.objects.first(),
        "house-time": HouseTime.objects.first(),
        "norms-take": HoursImport.objects.first(),
        "norm-log": HoursLog.objects.first(),
        "money": job,
        "invoice-issue": job,
        "proof": job,
        "proof-pdf": Job.objects.filter(proof__signed_at__isnull=False).latest("pk"),
        "target": job,
        "update": Update.objects.first(),
        "update-new": job,
        "link": ClientLink.objects.first(),
    }
    return rows[max((start for start in rows if name.startswith(start)), key=len)]


def number_of(name: str) -> int:
    """Return the number of a quote, an invoice or an instrument, as the address asks."""
    if name.startswith(("quote-", "scope-")) and name != "quote-new":
        return Quote.objects.filter(state="sent").latest("pk").number
    if name.startswith(("invoice", "payment")):
        return Invoice.objects.latest("pk").number
    return Instrument.objects.latest("pk").number


def code_of(name: str) -> str:
    """Return the code of a part, an operation or a measure, as the address asks."""
    if name.startswith(("part", "shelf")):
        return Part.objects.earliest("pk").code
    return "ky-bush" if name.startswith("norm") else "down-weight"


def kwargs_of(pattern: URLPattern) -> dict[str, object]:
    """Return arguments that lead to a real row of the demo shop."""
    name, wanted = str(pattern.name), set(pattern.pattern.converters)
    known: dict[str, object] = {"token": "x" * 43, "way": "decline", "kind": "quote", "key": 1}
    if "number" in wanted:
        known["number"] = number_of(name)
    if "code" in wanted:
        known["code"] = code_of(name)
    if "pk" in wanted:
        row = row_of(name)
        known["pk"] = row.pk if row is not None else NOBODYS
    return {key: known[key] for key in wanted}


def inside(username: str) -> Client:
    client = Client()
    client.force_login(Person.objects.get(username=username), "django.contrib.auth.backends.ModelBackend")
    return client


def read_out(answer: HttpResponseBase) -> None:
    """Read a file that is sent in pieces to its end, which closes it."""
    if answer.streaming:
        assert b"".join(answer.streaming_content)


ALL = sorted({str(pattern.name) for pattern in addresses()})
STAFF = [name for name in ALL if name not in OPEN | CLIENT]


def address(name: str) -> str:
    pattern = next(one for one in addresses() if one.name == name)
    return reverse(name, kwargs=kwargs_of(pattern))


def test_every_row_of_the_lists_above_is_an_address():
    assert set(ALL) >= OPEN | CLIENT | TECHNICIAN


@pytest.mark.parametrize("name", STAFF)
@pytest.mark.parametrize("method", ["get", "post"])
def test_a_stranger_is_led_to_the_door(name, method):
    answer = getattr(Client(), method)(address(name))
    assert answer.status_code in {302, 405}, name
    if answer.status_code == 302:
        assert answer["Location"].startswith("/sign-in/")


@pytest.mark.parametrize("name", STAFF)
@pytest.mark.parametrize("method", ["get", "post"])
def test_a_technician_may_what_the_list_says_and_nothing_else(name, method):
    answer = getattr(inside("corin"), method)(address(name))
    read_out(answer)
    if name in TECHNICIAN:
        assert answer.status_code in {200, 302, 405, 409, 422} or name in NO_ROW, name
    else:
        assert answer.status_code in {403, 405}, name
        if answer.status_code == 403:
            assert "manager" in answer.content.decode()


@pytest.mark.parametrize("name", STAFF)
@pytest.mark.parametrize("method", ["get", "post"])
def test_the_manager_may_everything_and_an_empty_form_breaks_nothing(name, method):
    # A browser never sends nothing at all: the token of the form comes with it.
    answer = getattr(inside("tamsin"), method)(
        address(name), {"csrfmiddlewaretoken": "x"} if method == "post" else None
    )
    read_out(answer)
    assert answer.status_code in {200, 302, 404, 405, 409, 422}, name
    assert answer.status_code != 404 or name in NO_ROW, name
    assert (method, answer.status_code) != ("post", 200) or name == "link-make", f"{name}: what is refused answers 422"
    if not answer.streaming:
        assert b">-----" not in answer.content, f"{name}: what stands for no choice is no word"


@pytest.mark.parametrize("name", sorted(CLIENT))
@pytest.mark.parametrize("who", ["", "tamsin", "corin"])
def test_the_clients_pages_open_by_link_only(name, who):
    client = inside(who) if who else Client()
    answer = client.get(address(name))
    assert answer.status_code in {405, 410}, name


@pytest.mark.parametrize("name", STAFF)
def test_a_client_with_a_link_stays_outside_the_house(name):
    instrument = Quote.objects.filter(state="sent").latest("pk").instrument
    client = Client()
    token = link_make(client=instrument.client, instrument=instrument, at=timezone.now())
    client.cookies[COOKIE] = link_open(token=token, at=timezone.now())
    assert client.get("/your-piano/").status_code == 200
    answer = client.get(address(name))
    assert answer.status_code in {302, 405}, name


def test_a_link_opens_one_instrument_only_and_not_when_altered_expired_or_taken_back():
    now = timezone.now()
    quote = Quote.objects.filter(state="sent").latest("pk")
    other = Quote.objects.exclude(instrument__client=quote.instrument.client).filter(paper__isnull=False).first()
    token = link_make(client=quote.instrument.client, instrument=quote.instrument, at=now)
    client = Client()
    assert client.get(f"/your-piano/enter/{token}/").status_code == 200
    assert client.get("/your-piano/").status_code == 410, "looking at the link alone opens nothing"
    assert client.post(f"/your-piano/enter/{token}/").status_code == 302
    assert client.get(f"/your-piano/paper/quote/{quote.number}.pdf").status_code == 200
    assert client.get(f"/your-piano/paper/quote/{other.number}.pdf").status_code == 404
    altered = token[:-1] + ("A" if token[-1] != "A" else "B")
    assert Client().post(f"/your-piano/enter/{altered}/").status_code == 410
    old = link_make(client=quote.instrument.client, instrument=quote.instrument, at=now - dt.timedelta(days=4000))
    assert Client().post(f"/your-piano/enter/{old}/").status_code == 410
    as_manager = inside("tamsin")
    link = ClientLink.objects.latest("pk") if ClientLink.objects.latest("pk").expires_at > now else None
    link = link or ClientLink.objects.filter(expires_at__gt=now).latest("pk")
    assert as_manager.post(reverse("link-revoke", args=[link.pk])).status_code == 302
    assert client.get("/your-piano/").status_code == 410
    assert Client().post(f"/your-piano/enter/{token}/").status_code == 410


MORE = 450


def more_instruments(count: int) -> None:
    """Write enough rows behind every list: instruments, enquiries, quotes, jobs, tasks, hours, invoices, messages."""
    first = Instrument.objects.latest("number")
    one = Quote.objects.filter(state="sent").latest("pk")
    job = Job.objects.filter(state="in_house").latest("pk")
    entry = TimeEntry.objects.exclude(minutes=None).latest("pk")
    owners = Owner.objects.bulk_create(Owner(name=f"Owner {n}", email=f"o{n}@harrowmere.example") for n in range(count))
    pianos = Instrument.objects.bulk_create(
        Instrument(client=owners[n], number=first.number + 100 + n, kind="upright", maker="Larkwhistle",
                   first_key=1, last_key=88) for n in range(count)
    )  # fmt: skip
    Enquiry.objects.bulk_create(
        Enquiry(instrument=piano, aim="To play again.", received_on=timezone.localdate()) for piano in pianos
    )
    highest = Quote.objects.latest("number").number
    for n, piano in enumerate(pianos):
        one.pk, one.number, one.instrument, one._state.adding = None, highest + 1 + n, piano, True
        one.save()
    for piano in pianos:
        job.pk, job.instrument, job._state.adding = None, piano, True
        job.quote = None
        job.state = "returned"
        job.save()
    TimeEntry.objects.bulk_create(
        TimeEntry(task=entry.task, person=entry.person, on=entry.on, minutes=1, kept_at=entry.kept_at)
        for _ in range(count)
    )  # fmt: skip
    invoice = Invoice.objects.latest("pk")
    top = Invoice.objects.latest("number").number
    for n in range(count):
        invoice.pk, invoice.number, invoice._state.adding, invoice.stands = None, top + 1 + n, True, False
        invoice.save()
    update = Update.objects.latest("pk")
    for n in range(count):
        update.pk, update.event_key, update._state.adding = None, f"more:{n}:{count}", True
        update.save()


LISTS = [
    "client-list",
    "norms-learned",
    "money-at-the-end",
    "hours-held",
    "enquiry-list",
    "quote-list",
    "desk-instruments",
    "hours-list",
    "money-list",
    "updates-list",
]


def test_every_list_asks_as_often_at_500_rows_as_at_50():
    client = inside("tamsin")
    more_instruments(50)
    client.get(reverse("norms-learned"))  # the learner of the process is built once

    def counts() -> dict[str, int]:
        found = {}
        for name in LISTS:
            with CaptureQueriesContext(connection) as asked:
                assert client.get(reverse(name)).status_code == 200
            found[name] = len(asked)
        return found

    few = counts()
    more_instruments(MORE)
    assert counts() == few
    assert max(few.values()) < 30

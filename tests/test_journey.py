"""One instrument from enquiry to proof, in a real browser, with real mail and real papers.

Every page on the way is looked at by axe-core (WCAG 2.x rules, 0 violations). The papers are read back with
pypdf and their figures compared with the rows. The clock of the worker is pressed by hand: mail and plan run when
the test says so, through the very functions the worker calls.
"""

import re
from io import BytesIO, StringIO
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.core.management import call_command
from django.utils import timezone
from pypdf import PdfReader

from jobs import flow
from jobs.billing.models import Invoice
from jobs.billing.queries import paid_on
from jobs.hours.models import TimeEntry
from jobs.intake.models import Instrument
from jobs.quoting.models import Quote
from jobs.scheduling.models import Plan, PlanWish
from jobs.supplies.models import Need
from jobs.verification.models import Proof
from jobs.worklist.models import Job, Task
from parts.catalogue.models import Part
from parts.orders.models import OrderLine, PurchaseOrder
from tests.factories import make_manager, make_place, make_supplier, make_technician
from workshop.mail.services import mail_relay
from workshop.money.words import money
from workshop.people.models import Person, Skill

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

NAME = "Zoë “Pip” O’Hara-Ő 🎹"
READ = {"pitch-off": (-62, "cents"), "groove": (1.1, "mm")}
CURED = {"pitch-off": 0, "groove": 0.2}


class Walk:
    """A person at a browser: every page they come to is looked at by axe."""

    def __init__(self, context: Any) -> None:
        self.page = context.new_page()
        self.seen: set[str] = set()
        self.errors: list[str] = []
        self.page.on("pageerror", lambda error: self.errors.append(str(error)))
        self.page.on("response", lambda answer: self.errors.append(answer.url) if answer.status >= 500 else None)

    def look(self) -> None:
        """Let axe look at the page that is open, once for each address without its numbers."""
        kind = re.sub(r"\d+", "N", self.page.url.split("?")[0])
        if kind not in self.seen:
            self.seen.add(kind)
            report = Axe().run(self.page)
            assert report.violations_count == 0, f"{self.page.url}\n{report.generate_report()}"

    def go(self, address: str) -> "Walk":
        self.page.goto(address)
        self.look()
        return self

    def press(self, words: str, *, exact: bool = True) -> "Walk":
        with self.page.expect_navigation():
            self.page.get_by_role("button", name=words, exact=exact).first.click()
        self.look()
        return self

    def send(self) -> "Walk":
        """Send the form of a page that has one."""
        with self.page.expect_navigation():
            self.page.locator("main form button.main").first.click()
        self.look()
        return self

    def follow(self, words: str) -> "Walk":
        with self.page.expect_navigation():
            self.page.get_by_role("link", name=words).first.click()
        self.look()
        return self

    def fill(self, **fields: str) -> "Walk":
        for name, value in fields.items():
            self.page.locator(f"main [name={name.replace('__', '-')}]").first.fill(value)
        return self

    def choose(self, name: str, value: str) -> "Walk":
        self.page.locator(f"main [name={name}][value='{value}']").check()
        return self

    @property
    def text(self) -> str:
        return self.page.locator("body").inner_text()

    def pdf(self, address: str) -> str:
        """Return the text of a paper, its line breaks taken out."""
        answer = self.page.context.request.get(address)
        assert answer.ok, f"{address}: {answer.status}"
        read = PdfReader(BytesIO(answer.body()))
        return " ".join(" ".join(page.extract_text() for page in read.pages).split())


def sign_in(walk: Walk, person: Person) -> None:
    walk.go("/sign-in/")
    walk.page.fill("[name=username]", person.username)
    walk.page.fill("[name=password]", "a long password")
    with walk.page.expect_navigation():
        walk.page.keyboard.press("Enter")
    walk.look()


def csv_of(values: dict[str, tuple[float, str]], keys: list[int]) -> str:
    rows = [f"{key},{code},{value},{unit}" for code, (value, unit) in values.items() for key in keys]
    return "\n".join(["note,measure,value,unit", *rows]) + "\n"


@pytest.fixture
def people(db: None) -> tuple[Person, Person]:
    """The manager, and a technician who can do all of it, in a small workshop with the reference data."""
    call_command("load_reference", stdout=StringIO())
    manager = make_manager()
    technician = make_technician()
    technician.skills.set(Skill.objects.all())
    Part.objects.update(supplier=make_supplier())
    make_place("floor", 4)
    make_place("bench", 2)
    make_place("spray", 1)
    return manager, technician


def test_an_instrument_from_enquiry_to_proof(browser, chromium, live_server, people, sink, settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", sink.port
    settings.SITE_URL = live_server.url
    manager, technician = people
    desk = Walk(browser)
    sign_in(desk, manager)
    instrument = enquiry(desk)
    assessment(desk, instrument)
    quote = quoted(desk, instrument)
    mail_relay(at=timezone.now())
    (letter,) = sink.mails
    assert "zoe@harrowmere.example" in letter["To"]
    assert {part.get_content_type() for part in letter.walk()} >= {"text/plain", "text/html"}
    found = re.search(r"http\S+/your-piano/enter/\S+/", letter.get_body(("plain",)).get_content())
    assert found, "the letter brings the link"
    context = chromium.new_context(base_url=live_server.url, locale="en-GB")
    client = Walk(context)
    job = accepted(client, quote, found[0])
    planned(desk, job)
    parts_came(desk, job, manager)
    benches = Walk(chromium.new_context(base_url=live_server.url, locale="en-GB"))
    worked(benches, job, technician)
    proved(desk, job)
    paid_and_home(desk, job, client)
    mail_relay(at=timezone.now())
    assert len(sink.mails) >= 2
    assert desk.errors == client.errors == benches.errors == []
    context.close()


def enquiry(desk: Walk) -> Instrument:
    """An owner telephones; a name with quotes and a picture in it is kept as it is."""
    desk.go("/enquiries/new/").fill(
        aim="To play it again, as my mother did.",
        client__name=NAME,
        client__email="zoe@harrowmere.example",
        instrument__maker="Larkwhistle",
        instrument__year="1911",
    ).choose("instrument-kind", "upright").press("Keep this enquiry")
    instrument = Instrument.objects.get()
    assert instrument.client.name == NAME
    assert NAME in desk.text
    return instrument


def assessment(desk: Walk, instrument: Instrument) -> None:
    """Readings by file and by hand: a wrong file is told by row and keeps nothing; the findings are kept."""
    desk.go(f"/instruments/{instrument.number}/").follow("Assess it")
    desk.fill(temperature_c="19", humidity_percent="48").press("Begin reading")
    sheet = desk.page.url
    desk.follow("bring readings in from a CSV")
    desk.fill(text="note,measure,value,unit\nA4,groove,1.1,g\nC9,groove,1.1,mm\n").press("Look at it")
    assert "Two lines need mending" in desk.text
    assert "does not fit" in desk.text
    assert "C9" in desk.text
    assert desk.page.locator("[name=text]").input_value().startswith("note,measure"), "nothing entered is lost"
    assert not instrument.assessments.get().readings.exists()
    desk.fill(text=csv_of(READ, list(range(1, 88, 6)))).press("Look at it").press("Keep", exact=False)
    assert instrument.assessments.get().readings.count() == 30
    desk.go(f"{sheet}enter/groove/?which=standard&key=88").fill(value="1.3")
    with desk.page.expect_navigation():
        desk.page.keyboard.press("Enter")
    assert instrument.assessments.get().readings.count() == 31
    desk.go(sheet).press("Finish and work out the findings")
    while desk.page.locator("form[action^='/findings/'][action$='/keep/'] button").count():
        with desk.page.expect_navigation():
            desk.page.locator("form[action^='/findings/'][action$='/keep/'] button").first.click()
    findings = instrument.assessments.get().findings.filter(state="kept")
    assert findings.exists()
    words = desk.pdf(f"{sheet}paper.pdf")
    assert findings.first().sentence.split(".")[0][:40] in words


def quoted(desk: Walk, instrument: Instrument) -> Quote:
    """The findings become a scope with a price and a date; frozen, it goes out as a letter with a link."""
    desk.go(f"/instruments/{instrument.number}/").press("Begin a quote")
    desk.press("Freeze and write the letter")
    quote = Quote.objects.get()
    assert quote.state == "sent"
    scope = quote.scopes.get()
    assert scope.total_likely > 0
    assert scope.ready_on is not None
    words = desk.pdf(f"/quotes/{quote.number}/quote.pdf")
    for amount in (scope.total_likely, scope.total_80):
        assert money(amount) in words or f"{amount:,.0f}" in words, (amount, words)
    desk.go("/messages/").follow("Your")
    desk.press("Send it to", exact=False)
    return quote


def accepted(client: Walk, quote: Quote, link: str) -> Job:
    """The owner opens the link, chooses, and signs with a name; a second answer is refused in words."""
    client.go(link).press("Open my page")
    assert NAME in client.text or "Zoë" in client.text
    scope = quote.scopes.get()
    client.choose("way", str(scope.pk)).press("Go on to the summary")
    summary = client.page.url
    client.fill(name=NAME).press("I agree")
    job = Job.objects.get()
    assert (job.agreed_total, quote.answer.name) == (scope.total_likely, NAME)
    client.go("/your-piano/where-it-stands/")
    client.page.goto(summary)
    if client.page.get_by_role("button", name="I agree").count():
        client.fill(name=NAME).press("I agree")
        assert "answered once" in client.text
    assert Job.objects.count() == 1
    words = client.pdf(f"/your-piano/paper/quote/{quote.number}.pdf")
    assert "Larkwhistle" in words
    return job


def work_out_plans(desk: Walk) -> None:
    """Do what the worker does with wishes for a plan, then look at the page."""
    desk.go("/plan/")
    for wish in PlanWish.objects.filter(begun_at=None).order_by("pk"):
        flow.plan_worked_out(wish, timezone.now())
    desk.go("/plan/")


def planned(desk: Walk, job: Job) -> None:
    """It is booked in, and the plan of the house is worked out."""
    desk.go(f"/jobs/{job.pk}/").follow("It has arrived").send()
    job.refresh_from_db()
    assert job.state == "in_house"
    work_out_plans(desk)
    desk.press("Work the plan out again")
    work_out_plans(desk)
    assert Plan.objects.filter(is_current=True).count() == 1
    desk.go("/plan/")
    assert str(job.instrument.number) in desk.text
    words = desk.pdf(f"/jobs/{job.pk}/card.pdf")
    first = job.tasks.order_by("position").first()
    assert first.name[:25] in words


def parts_came(desk: Walk, job: Job, manager: Person) -> None:
    """What the work needs is ordered on paper and comes; more than was ordered is refused."""
    desk.go("/parts/needs/")
    for need in Need.objects.exclude(state__in=("here", "not_needed")):
        if need.part.measure_needed and not need.measure:
            desk.go(f"/parts/needs/{need.pk}/measure/").fill(measure="as the old one").press("Keep the measure")
    desk.go("/parts/needs/")
    while desk.page.locator("[name=need]").count():
        for box in desk.page.locator("[name=need]").all():
            box.check()
        desk.press("Put the ticked on draft orders")
        desk.go("/parts/needs/")
    for order in PurchaseOrder.objects.filter(state="draft"):
        desk.go(f"/parts/orders/{order.pk}/").press("Send to", exact=False)
        order.refresh_from_db()
        assert f"Order {order.number}" in desk.pdf(f"/parts/orders/{order.pk}/sheet/")
    for line in OrderLine.objects.all():
        for quantity, kept in ((line.quantity + 5, 0), (line.quantity, 1)):
            desk.go(f"/parts/orders/{line.order_id}/")
            form = desk.page.locator(f"form[action$='/line/{line.pk}/arrived/']")
            if not form.is_visible():
                desk.page.locator("details", has=form).locator("summary").click()
            form.locator("[name$=quantity]").fill(str(quantity))
            with desk.page.expect_navigation():
                form.locator("button").first.click()
            assert line.receipts.count() == kept, "more than was ordered is refused"
    assert not Need.objects.exclude(state__in=("here", "not_needed")).exists()


def worked(bench: Walk, job: Job, technician: Person) -> None:
    """Clock and hand, impossible hours refused, tasks closed in the order in which prerequisites hold."""
    sign_in(bench, technician)
    bench.go("/bench/").press("Start", exact=False)
    bench.press("Stop, + 30 min")
    entry = TimeEntry.objects.get()
    assert entry.minutes in (30, 31)
    task = entry.task
    bench.go(f"/bench/tasks/{task.pk}/").fill(hours="24", minutes="0")
    bench.press("Keep")
    assert TimeEntry.objects.count() == 1, "more than a day has"
    assert "more than a day has" in bench.text
    last = job.tasks.order_by("-position").first()
    bench.go(f"/bench/tasks/{last.pk}/").fill(no_hours_because="trying").press("This task is done")
    last.refresh_from_db()
    assert last.state != "done", "its prerequisites are open"
    bench.go(f"/bench/tasks/{task.pk}/").press("This task is done")
    task.refresh_from_db()
    assert task.state == "done"
    todo = job.tasks.exclude(state__in=(Task.State.DONE, Task.State.LEFT_OUT)).order_by("position")
    for one in todo:
        flow.task_closed(one, technician, timezone.now(), no_hours_because="done with the one before")


def proved(desk: Walk, job: Job) -> None:
    """The same notes read again against what was agreed, then signed."""
    desk.go(f"/jobs/{job.pk}/proof/").press("Begin the final readings")
    final = job.instrument.assessments.get(purpose="final")
    cured = {code: (value, READ[code][1]) for code, value in CURED.items()}
    rows = csv_of(cured, list(range(1, 88, 6))) + "88,groove,0.2,mm\n"
    desk.go(f"/assessments/{final.pk}/import/").fill(text=rows).press("Look at it").press("Keep", exact=False)
    desk.go(f"/jobs/{job.pk}/proof/").press("Sign the proof")
    proof = Proof.objects.get()
    assert proof.signed_at is not None
    assert proof.notes_read == proof.notes_met > 0
    words = desk.pdf(f"/jobs/{job.pk}/proof/proof.pdf")
    assert f"{proof.notes_met} of {proof.notes_read}" in words, words


def paid_and_home(desk: Walk, job: Job, client: Walk) -> None:
    """Every invoice of one unbroken series, paid; the piano goes home, and its owner reads the proof."""
    desk.go(f"/money/jobs/{job.pk}/")
    while desk.page.get_by_role("button", name="Issue the invoice", exact=False).count():
        desk.press("Issue the invoice", exact=False)
        desk.go(f"/money/jobs/{job.pk}/")
    invoices = list(Invoice.objects.filter(job=job).order_by("number"))
    assert [one.number for one in invoices] == list(range(invoices[0].number, invoices[0].number + len(invoices)))
    job.refresh_from_db()
    assert sum(one.total for one in invoices) == job.agreed_total
    for one in invoices:
        words = desk.pdf(f"/invoices/{one.number}/invoice.pdf")
        for amount in (one.net, one.vat, one.total):
            assert money(amount) in words, (amount, words)
        desk.go(f"/invoices/{one.number}/").fill(amount=str(one.total)).press("Keep the payment")
        assert paid_on(one) == one.total
    desk.go(f"/jobs/{job.pk}/return/").send()
    job.refresh_from_db()
    assert job.state == "returned"
    client.go("/your-piano/where-it-stands/")
    assert str(Proof.objects.get().notes_met) in client.pdf(f"/your-piano/paper/proof/{job.pk}.pdf")
    for address in ("/", "/instruments/", f"/instruments/{job.instrument.number}/", "/hours/", "/money/", "/quotes/"):
        desk.go(address)

"""The work in the house: booked in and planned, a variation, parts in two goes, a date moved, tasks closed."""

import datetime as dt
from decimal import Decimal

from django.utils import timezone

from jobs import flow
from jobs.hours.models import TimeEntry
from jobs.scheduling.models import Plan, PlanWish, Promise
from jobs.supplies.models import Need
from jobs.worklist.models import Job, Task, Variation
from parts.catalogue.services import stock_on_hand
from parts.orders.models import OrderLine, PurchaseOrder
from tests.journey.owner import NAME, letter_sent
from tests.journey.walk import Walk, sign_in
from tests.sink import Sink
from workshop.calendar.words import day_words_year
from workshop.money.words import money
from workshop.people.models import Leave, Person

FOUND = "One toe is loose: its glue has let go “all round” 🎹."
AGREED = "cs-joint"


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


def clock_pressed(bench: Walk, technician: Person) -> Task:
    """The technician begins with what the bench shows, with one tap, and stops; impossible hours are refused."""
    sign_in(bench, technician)
    bench.go("/bench/").press("Start", exact=False)
    bench.press("Stop, + 30 min")
    entry = TimeEntry.objects.get()
    assert entry.minutes in (30, 31)
    bench.go(f"/bench/tasks/{entry.task_id}/").fill(hours="24", minutes="0").press("Keep")
    assert "more than a day has" in bench.text
    assert "enter 23 h" in bench.text
    assert bench.page.locator("main [name=hours]").first.input_value() == "24", "nothing entered is lost"
    tomorrow = timezone.localdate() + dt.timedelta(days=1)
    bench.fill(on=tomorrow.isoformat(), hours="1").press("Keep")
    assert "still to come" in bench.text
    assert TimeEntry.objects.count() == 1
    return entry.task


def variation_agreed(bench: Walk, desk: Walk, client: Walk, sink: Sink, job: Job) -> None:
    """Found at the bench, priced and sent by the manager, agreed to by the owner: its tasks join the job."""
    before, tasks = job.agreed_total, set(job.tasks.values_list("pk", flat=True))
    last = job.tasks.order_by("-position").first()
    bench.go("/bench/").press("Start", exact=False)
    bench.follow("Found something").fill(found=FOUND)
    bench.choose("affects", str(last.pk)).press("Keep it")
    variation = Variation.objects.get()
    running = TimeEntry.objects.get(minutes=None).task
    assert (variation.found, set(variation.affects.all())) == (FOUND, {running, last}), "the task in hand is ticked"
    desk.go("/").go(f"/variations/{variation.pk}/").follow("Price it")
    desk.unfold(desk.page.locator(f"[name=count-{AGREED}]")).fill("1")
    desk.fill(words="We glue the toe again and brace it from behind.").press("Work it out")
    while f"/variations/{variation.pk}/price/" in desk.page.url:
        desk.press("Work it out")
    later = timezone.localdate() + dt.timedelta(days=300)
    desk.fill(ready_on=later.isoformat()).press("Freeze and write the letter")
    variation.refresh_from_db()
    assert variation.state == "sent"
    assert money(variation.total) in desk.pdf(f"/variations/{variation.pk}/variation.pdf")
    words, link = letter_sent(desk, sink, "variation")
    assert money(variation.total) in words
    client.go(link).press("Open my page").go("/your-piano/where-it-stands/").follow("read it and answer")
    assert money(variation.total) in client.text
    assert FOUND in client.text
    valid = client.page.locator("main form").first.evaluate("form => form.checkValidity()")
    assert not valid, "without a name nothing is agreed"
    client.fill(name=NAME).press("I agree")
    variation.refresh_from_db()
    job.refresh_from_db()
    assert (variation.state, variation.answered_name) == ("agreed", NAME)
    assert job.agreed_total == before + variation.total
    added = job.tasks.exclude(pk__in=tasks)
    assert AGREED in set(added.values_list("operation__code", flat=True))
    assert set(added.values_list("variation", flat=True)) == {variation.pk}
    assert f"Variation {variation.number}" in client.text
    desk.go(f"/jobs/{job.pk}/")
    assert added.first().name in desk.text


def plan_accepted(desk: Walk, technician: Person) -> None:
    """The technician is away from tomorrow: the new plan waits, says what moves and why, and is accepted."""
    work_out_plans(desk)
    first = timezone.localdate() + dt.timedelta(days=1)
    Leave.objects.create(person=technician, first_day=first, last_day=first + dt.timedelta(days=4))
    desk.press("Work the plan out again")
    old = Plan.objects.get(is_current=True)
    work_out_plans(desk)
    assert Plan.objects.get(is_current=True) == old, "what people were told is not moved behind their backs"
    desk.follow("See what it changes")
    assert f"{technician} is not in on" in desk.text
    desk.press("in force", exact=False)
    assert Plan.objects.get(is_current=True).answers == old
    assert not Plan.objects.filter(is_offered=True).exists()


def date_moved(desk: Walk, client: Walk, sink: Sink, job: Job) -> None:
    """The promise moves: the owner is told the old day, the new one and why, by mail and on the page."""
    old = job.promises.get()
    new = old.date + dt.timedelta(days=9)
    reason = "The new felt comes a week late."
    desk.go(f"/jobs/{job.pk}/promise/").fill(date=new.isoformat(), reason=reason)
    desk.press("Give the date")
    given = Promise.objects.filter(job=job).latest("pk")
    assert (given.date, given.chance is None) == (new, False), "how sure it is comes from the plan"
    ordered = len(sink.mails)
    words, _ = letter_sent(desk, sink, "date_moved")
    to = {str(mail["To"]) for mail in sink.mails[ordered:]}
    assert any("orders@" in one for one in to), "the orders went to their suppliers too"
    assert day_words_year(new) in words or f"{new.day} " in words
    assert reason in " ".join(words.split())
    client.go("/your-piano/where-it-stands/")
    for said in (day_words_year(old.date), day_words_year(new), reason):
        assert said in client.text


def parts_came(desk: Walk, job: Job) -> None:
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
    more = OrderLine.objects.order_by("pk").first()
    needed = more.quantity
    desk.go(f"/parts/orders/line/{more.pk}/").fill(quantity=str(needed + 2)).send()
    for order in PurchaseOrder.objects.filter(state="draft"):
        desk.go(f"/parts/orders/{order.pk}/").press("Send to", exact=False)
        order.refresh_from_db()
        assert f"Order {order.number}" in desk.pdf(f"/parts/orders/{order.pk}/sheet/")
    more.refresh_from_db()
    received(desk, more, needed)
    assert (more.receipts.count(), more.order.state) == (1, "sent"), "a part of it came, the order waits for the rest"
    for line in OrderLine.objects.all():
        rest = Decimal(2) if line == more else line.quantity
        before = line.receipts.count()
        received(desk, line, rest + 5)
        assert line.receipts.count() == before, "more than was ordered is refused"
        received(desk, line, rest)
        assert line.receipts.count() == before + 1
        assert sum(one.quantity for one in line.receipts.all()) == line.quantity
    assert stock_on_hand(more.part) == 2, "what no job needs is on the shelf"
    assert not PurchaseOrder.objects.filter(state="sent").exists()
    assert not Need.objects.exclude(state__in=("here", "not_needed")).exists()


def received(desk: Walk, line: OrderLine, quantity: Decimal) -> None:
    """Write down what arrived of one line."""
    desk.go(f"/parts/orders/{line.order_id}/")
    form = desk.unfold(desk.page.locator(f"form[action$='/line/{line.pk}/arrived/']"))
    form.locator("[name$=quantity]").fill(str(quantity))
    with desk.page.expect_navigation():
        form.locator("button").first.click()
    desk.look()


def worked(bench: Walk, job: Job, first: Task) -> None:
    """Every task is closed on its page, in the order in which prerequisites hold; hours by hand for each stage."""
    last = job.tasks.order_by("-position").first()
    bench.go(f"/bench/tasks/{last.pk}/").fill(no_hours_because="trying").press("This task is done")
    last.refresh_from_db()
    assert last.state != "done", "its prerequisites are open"
    assert "comes before it and is not done" in bench.text
    stages = set()
    todo = job.tasks.exclude(state__in=(Task.State.DONE, Task.State.LEFT_OUT)).order_by("position", "pass_number", "pk")
    for task in todo:
        bench.go(f"/bench/tasks/{task.pk}/")
        if task.stage not in stages:
            stages.add(task.stage)
            bench.fill(hours="0", minutes="40").press("Keep")
            bench.go(f"/bench/tasks/{task.pk}/")
        elif bench.page.locator("main [name=no_hours_because]").count():
            bench.fill(no_hours_because="done with the one before")
        bench.press("This task is done")
        task.refresh_from_db()
        assert task.state == "done", bench.text
    first.refresh_from_db()
    assert first.state == "done"
    assert not job.tasks.exclude(state__in=(Task.State.DONE, Task.State.LEFT_OUT)).exists()

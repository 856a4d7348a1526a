"""What nobody pays: assessments that led to no order, visits under guarantee. Kept, taken back, counted as cost."""

import datetime as dt
import uuid
from decimal import Decimal

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from jobs.billing.models import EarlierInvoice
from jobs.billing.services import assessment_invoice, invoice_credit
from jobs.desk.queries.completion import ends_of
from jobs.desk.queries.house_costs import house_costs
from jobs.hours.models import HouseTime
from jobs.hours.queries import minutes_by_day, minutes_on
from jobs.hours.services import house_time_keep, house_time_take_back, time_enter
from jobs.quoting.models import Answer
from tests.factories import (
    MOMENT,
    TODAY,
    make_assessment,
    make_job,
    make_manager,
    make_operation,
    make_quote,
    make_task,
    make_technician,
)
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


def assessed(minutes=210, on=TODAY, **quote):
    """An assessment with hours, and where asked a quote of it that was sent."""
    assessment, who = make_assessment(on=on), make_technician()
    house_time_keep(about=assessment, person=who, on=on, minutes=minutes, by=who, at=MOMENT)
    if quote:
        made = make_quote(instrument=assessment.instrument, assessment=assessment, **quote)
        if made.state == "declined":
            Answer.objects.create(quote=made, kind="declined", name="Mrs Ferrowby", at=MOMENT, content_hash="x")
    return assessment


def sent(state, until):
    return {"state": state, "sent_at": MOMENT, "valid_until": until, "content_hash": "x"}


@pytest.mark.parametrize(
    ("quote", "day", "why"),
    [
        ({}, TODAY + 28 * DAY, None),
        ({}, TODAY + 29 * DAY, "no quote was sent"),
        (sent("sent", TODAY + 40 * DAY), TODAY + 40 * DAY, None),
        (sent("sent", TODAY + 40 * DAY), TODAY + 41 * DAY, "the quote lapsed"),
        (sent("lapsed", TODAY + 40 * DAY), TODAY + 41 * DAY, "the quote lapsed"),
        (sent("declined", TODAY + 40 * DAY), TODAY + DAY, "the quote was declined"),
    ],
)
def test_an_assessment_is_a_cost_when_no_order_came_in_time(quote, day, why):
    assessment = assessed(**quote)
    found = house_costs(day)
    assert [one.why for one in found.unpaid] == ([why] if why else [])
    assert found.undecided == (0 if why else 1)
    if why:
        assert (found.unpaid[0].assessment, found.unpaid[0].hours) == (assessment, 3.5)
        assert found.cost == found.unpaid[0].cost == Decimal("3.5") * 48


def test_an_assessment_that_led_to_an_order_is_none():
    assessed(**sent("accepted", TODAY + 28 * DAY))
    found = house_costs(TODAY + 100 * DAY)
    assert (found.unpaid, found.undecided, found.cost) == ((), 0, 0)


def test_a_quote_written_without_naming_the_assessment_counts_when_it_came_after():
    assessment = assessed()
    make_quote(instrument=assessment.instrument, created_at=MOMENT, **sent("accepted", TODAY + 28 * DAY))
    assert house_costs(TODAY + 100 * DAY).unpaid == ()


def test_what_is_long_past_is_not_counted():
    assessed()
    assert len(house_costs(TODAY + 365 * DAY).unpaid) == 1
    assert house_costs(TODAY + 366 * DAY).unpaid == ()


def returned(hours=11):
    job = make_job(state="returned", returned_on=TODAY - 10 * DAY)
    task = make_task(job, make_operation())
    job.state = "in_house"
    job.save()
    time_enter(task=task, person=make_technician(), on=TODAY - 11 * DAY, minutes=hours * 60, note="", at=MOMENT)
    job.state, task.state = "returned", "done"
    job.save()
    task.save()
    return job


def test_an_assessment_that_is_invoiced_is_paid_for_and_no_cost():
    assessment, other = assessed(**sent("declined", TODAY + 40 * DAY)), assessed()
    for one in (assessment, other):
        one.finished_at = MOMENT
        one.save()
    said = {"by": make_manager(), "on": TODAY, "at": MOMENT}
    dear = assessment_invoice(assessment=assessment, amount=Decimal("240.00"), **said)
    assessment_invoice(assessment=other, amount=Decimal("120.00"), **said)
    found = house_costs(TODAY + 60 * DAY)
    assert (found.unpaid, found.undecided, found.cost) == ((), 0, 0)
    # 240 with VAT at 20 % are 200 without; 3.5 h at 48 are 168; and 100 less 168 of the other
    assert [(one.number, one.income, one.margin) for one in found.alone] == [(2, 100, -68), (1, 200, 32)]
    assert (found.alone_margin, found.alone_margin_words) == (-36, "−£36")
    invoice_credit(invoice=dear, by=said["by"], on=TODAY, reason="forgiven")
    found = house_costs(TODAY + 60 * DAY)
    assert ([one.assessment for one in found.unpaid], len(found.alone)) == ([assessment], 1)
    assert house_costs(TODAY + 366 * DAY).alone == ()


@pytest.mark.parametrize(("deducted", "used", "alone"), [(True, 3.5 + 11, 0), (False, 11, 1)])
def test_its_hours_count_where_its_price_does(deducted, used, alone):
    assessment = assessed()
    assessment.finished_at = MOMENT
    assessment.save()
    said = {"by": make_manager(), "at": MOMENT}
    invoice = assessment_invoice(assessment=assessment, amount=Decimal("240.00"), on=TODAY, **said)
    quote = make_quote(assessment.instrument, assessment=assessment, **sent("accepted", TODAY))
    job = make_job(assessment.instrument, quote=quote)
    make_task(job, make_operation(), state="done", hours_likely=11)
    row = EarlierInvoice.objects.create(invoice=invoice, job=job, deducted=deducted, decided_at=MOMENT)
    assert ends_of([job])[0].whole.end.used == used
    assert len(house_costs(TODAY).alone) == alone
    assert row.invoice == invoice


def test_a_visit_under_guarantee_comes_off_what_the_job_brought():
    job, who = returned(10), make_technician()
    before = ends_of([job])[0].whole
    assert before.margin == before.margin_now == Decimal(1) * before.rate
    house_time_keep(about=job, person=who, on=TODAY, minutes=150, by=who, at=MOMENT)
    found = house_costs(TODAY)
    [row] = found.visited
    assert (row.job, row.whole.visits, found.visit_hours) == (job, 2.5, 2.5)
    assert row.whole.margin == row.whole.margin_now == Decimal("-1.5") * before.rate
    assert found.cost == Decimal("2.5") * before.rate


def test_time_of_the_house_fills_a_persons_day():
    who, assessment = make_technician(), make_assessment(on=TODAY)
    house_time_keep(about=assessment, person=who, on=TODAY, minutes=20 * 60, by=who, at=MOMENT)
    assert minutes_on(who, TODAY) == minutes_by_day(TODAY, TODAY)[who.pk, TODAY] == 20 * 60
    with pytest.raises(Refused, match="more than a day has"):
        time_enter(task=make_task(), person=who, on=TODAY, minutes=5 * 60, note="", at=MOMENT)


def test_what_cannot_be_is_refused():
    who, other, job = make_technician(), make_technician("Dilys"), returned()
    first, final = make_assessment(on=TODAY), make_assessment(on=TODAY, purpose="final")
    said = {"person": who, "on": TODAY, "minutes": 60, "by": who, "at": MOMENT}
    for wrong, words in [
        ({"about": final}, "part of a job"),
        ({"about": make_job(state="in_house")}, "has not gone home"),
        ({"about": job, "on": TODAY - 11 * DAY}, "comes after"),
        ({"about": first, "by": other}, "Write down your own hours"),
        ({"about": first, "on": TODAY + DAY}, "still to come"),
        ({"about": first, "minutes": 0}, "how long it took"),
    ]:
        with pytest.raises(Refused, match=words):
            house_time_keep(**{**said, **wrong})
    assert not HouseTime.objects.exists()
    key = uuid.uuid4()
    for _ in range(2):
        row = house_time_keep(**{**said, "about": first, "by": make_manager(), "client_key": key})
    assert HouseTime.objects.count() == 1
    for by, reason, words in [(other, "x", "somebody else"), (who, " ", "Say in a few words")]:
        with pytest.raises(Refused, match=words):
            house_time_take_back(row=row, reason=reason, by=by, at=MOMENT)
    house_time_take_back(row=row, reason="typed twice", by=who, at=MOMENT)
    with pytest.raises(Refused, match="taken back before"):
        house_time_take_back(row=row, reason="again", by=who, at=MOMENT)
    assert minutes_on(who, TODAY) == 0


def test_the_database_refuses_time_of_nothing_and_of_two_things():
    who = make_technician()
    both = {"assessment": make_assessment(), "job": make_job()}
    for about in ({}, both):
        with pytest.raises(IntegrityError), transaction.atomic():
            HouseTime.objects.create(person=who, on=TODAY, minutes=5, kept_at=MOMENT, kept_by=who, **about)


def test_hours_are_written_down_and_taken_back_on_their_page(client):
    today, who = timezone.localdate(), make_technician()
    assessment = make_assessment(on=today)
    client.force_login(who)
    page = reverse("assessment-hours", args=[assessment.pk])
    assert page in client.get(reverse("assessment-show", args=[assessment.pk])).content.decode()
    assert client.post(page, {"on": today, "hours": 3, "minutes": 30}).status_code == 302
    assert "3 h 30 went into this assessment" in client.get(page).content.decode()
    assert "assessment" in client.get(reverse("bench-mine")).content.decode()
    wrong = client.post(page, {"on": today + DAY, "hours": 1})
    assert (wrong.status_code, "still to come" in wrong.content.decode()) == (422, True)
    row = HouseTime.objects.get()
    assert (row.person, row.minutes) == (who, 210)
    client.post(reverse("house-time-take-back", args=[row.pk]), {"reason": "another piano"})
    text = client.get(page).content.decode()
    assert "another piano" in text
    assert "How long did the assessment take?" in text


def test_the_manager_writes_for_others_and_reads_the_sum(client):
    boss, who, job = make_manager(), make_technician(), returned()
    job.returned_on = timezone.localdate() - DAY
    job.save()
    client.force_login(boss)
    assert "Visit under guarantee" in client.get(reverse("job-show", args=[job.pk])).content.decode()
    assert "Nobody pays" in client.get(reverse("money-at-the-end")).content.decode()
    page = reverse("job-visits", args=[job.pk])
    client.post(
        page, {"person": who.pk, "on": timezone.localdate(), "hours": 2, "minutes": 0, "note": "a sticking key"}
    )
    assert HouseTime.objects.get().person == who
    text = client.get(reverse("money-at-the-end")).content.decode()
    assert "2.0 h on visits under guarantee to one instrument" in text
    assert "Visits under guarantee, 2.0 h" in client.get(reverse("job-show", args=[job.pk])).content.decode()


def test_the_questions_do_not_grow_with_the_rows():
    def more():
        assessed(**sent("declined", TODAY))
        job, who = returned(), make_technician()
        house_time_keep(about=job, person=who, on=TODAY, minutes=30, by=who, at=MOMENT)
        paid = assessed()
        paid.finished_at = MOMENT
        paid.save()
        assessment_invoice(assessment=paid, amount=Decimal(120), by=who, on=TODAY, at=MOMENT)

    more()
    house_costs(TODAY)  # the shop's own row is made at its first reading
    with CaptureQueriesContext(connection) as few:
        house_costs(TODAY + 60 * DAY)
    for _ in range(4):
        more()
    with CaptureQueriesContext(connection) as many:
        found = house_costs(TODAY + 60 * DAY)
    assert (len(found.unpaid), len(found.visited), len(found.alone)) == (5, 5, 5)
    assert len(many) == len(few) <= 18

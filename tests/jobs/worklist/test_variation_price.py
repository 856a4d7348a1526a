"""What a variation costs: parts, shares of the hours, alternatives, and work two variations would leave out."""

import threading
from decimal import Decimal

import pytest
from django.db import connection
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.operations.models import AlternativeGroup, OperationPart
from jobs.worklist.models import Task
from jobs.worklist.page import agreed_steps
from jobs.worklist.queries import implied_by_variation
from jobs.worklist.services import variation_answer, variation_price, variation_report, variation_send
from tests.factories import MOMENT, make_job, make_manager, make_operation, make_part, make_task
from workshop.house.queries import the_shop
from workshop.web.errors import Refused


def report(job, boss, **more):
    return variation_report(job=job, **{"found": "A crack.", "affects": [], "by": boss, "at": MOMENT, **more})


def price(job, boss, adds=None, **more):
    given = {"operations": adds or {}, "words": "We propose this.", "by": boss, **more}
    return variation_price(variation=report(job, boss), **given)


def agree(variation, boss):
    sent = variation_send(variation=variation, by=boss, at=MOMENT, ready_on=None)
    return variation_answer(variation=sent, agree=True, name="Zoë", at=MOMENT, content_hash=sent.content_hash)


@pytest.fixture
def cloth(work):
    """Bushing takes two packets of cloth for the job and a felt a note; an upright part does not count."""
    OperationPart.objects.create(operation=work["ky-bush"], part=make_part("cloth", price=Decimal("9.50")), quantity=2)
    OperationPart.objects.create(
        operation=work["ky-bush"], part=make_part("felt", price=Decimal("0.30")), quantity=1, per_unit=True
    )
    OperationPart.objects.create(
        operation=work["ky-bush"], part=make_part("rail", price=Decimal(99)), applies_to="upright"
    )


def test_the_parts_of_added_work_are_priced_with_the_mark_up_of_the_house(job, boss, cloth):
    priced = price(job, boss, {"ky-bush": Decimal(10)})
    mark_up = (100 + the_shop().parts_markup_percent) / 100
    parts = (19 * mark_up).quantize(Decimal("0.01")) + (3 * mark_up).quantize(Decimal("0.01"))
    row = priced.operations.get()
    assert row.net == (row.hours_likely * job.quote.hourly_rate).quantize(Decimal("0.01")) + parts
    assert "parts included" in row.words


def test_parts_that_are_bought_stay_charged_when_their_work_is_left_out(job, boss, cloth):
    whole = price(job, boss, leaves_out=["ky-bush"])
    whole.operations.all().delete()
    kept = variation_price(
        variation=whole, operations={}, leaves_out=["ky-bush"], parts_bought=["ky-bush"], words="So.", by=boss
    )
    row = kept.operations.get()
    assert row.net == (row.hours_likely * job.quote.hourly_rate).quantize(Decimal("0.01")) < 0
    assert "bought" in row.words


def test_rows_add_up_to_the_whole_and_the_whole_is_the_hours_at_the_rate(job, boss):
    priced = price(job, boss, {"ky-repair": Decimal(1), "cs-dust": Decimal("1.5"), "ky-bush": Decimal(1)})
    rows = list(priced.operations.all())
    assert sum(row.hours_likely for row in rows) == priced.hours_likely
    assert sum(row.net for row in rows) == priced.net
    assert abs(priced.net - priced.hours_likely * job.quote.hourly_rate) <= Decimal("0.02")
    assert priced.hours_80 > priced.hours_likely


@pytest.mark.django_db
def test_what_goes_with_added_work_says_why_in_its_row(job, boss):
    priced = price(job, boss, {"ky-bush": Decimal(1), "ky-repair": Decimal(2)})
    reasons = {row.operation.code: row.reason for row in priced.operations.all()}
    assert "Work ky-bush" in reasons["ky-repair"]


def test_an_alternative_to_what_stays_in_the_job_is_refused_and_taken_when_that_is_left_out(job, boss, work):
    group = AlternativeGroup.objects.create(code="bush", name="bushing or sleeves")
    sleeves = make_operation("ky-sleeve", name="Sleeves")
    group.operations.set([work["ky-bush"], sleeves])
    with pytest.raises(Refused, match="alternatives"):
        price(job, boss, {"ky-sleeve": Decimal(1)})
    both = price(job, boss, {"ky-sleeve": Decimal(1)}, leaves_out=["ky-bush"])
    assert both.operations.count() == 2
    assert implied_by_variation(job, {"ky-weigh": Decimal(1)}, ["ky-bush"]) != []


def test_two_variations_do_not_leave_the_same_work_out(job, boss):
    first = price(job, boss, leaves_out=["ky-weigh"])
    with pytest.raises(Refused, match="Variation 1 leaves “Work ky-weigh” out already"):
        price(job, boss, leaves_out=["ky-weigh"])
    agree(first, boss)
    with pytest.raises(Refused, match="not waiting"):
        price(job, boss, leaves_out=["ky-weigh"])


def test_nothing_chosen_or_no_words_is_refused(job, boss):
    with pytest.raises(Refused, match="at least one operation"):
        price(job, boss)
    with pytest.raises(Refused, match="what you propose"):
        price(job, boss, {"cs-dust": Decimal(1)}, words="  ")


def test_every_version_of_what_is_agreed_stays_readable_with_its_total(job, boss):
    first_total = job.agreed_total
    one = agree(price(job, boss, {"ky-repair": Decimal(1)}), boss)
    two = agree(price(job, boss, leaves_out=["ky-weigh"]), boss)
    declined = variation_send(variation=price(job, boss, {"cs-dust": Decimal(1)}), by=boss, at=MOMENT, ready_on=None)
    variation_answer(variation=declined, agree=False, name="Zoë", at=MOMENT, content_hash=declined.content_hash)
    job.refresh_from_db()
    steps = agreed_steps(job)
    assert [step.words for step in steps] == ["“Even keys”", "Variation 1", "Variation 2", "Variation 3"]
    assert [step.total_after for step in steps] == [first_total, first_total + one.total, job.agreed_total, None]
    assert job.agreed_total == first_total + one.total + two.total
    assert any("Work ky-weigh" in words for words in steps[0].adds)
    assert steps[0].leaves_out == ("Work ky-repair: keys are sound",)
    assert steps[2].leaves_out == ("Work ky-weigh",)


@settings(max_examples=20)
@given(
    st.lists(
        st.tuples(
            st.decimals("0.5", "40", places=1),
            st.decimals("1", "90", places=1),
        ),
        min_size=1,
        max_size=6,
    )
)
@pytest.mark.django_db(transaction=True)
def test_net_is_the_sum_of_the_rows_and_vat_and_total_follow_whatever_is_added(sizes):
    job, boss = make_job(), make_manager()
    adds = {}
    for number, (hours, count) in enumerate(sizes):
        code = f"x{job.pk}-{number}"
        make_operation(code, hours_low=hours, hours_likely=hours, hours_high=hours * 2)
        adds[code] = count
    priced = price(job, boss, adds)
    rows = list(priced.operations.all())
    assert {row.operation.code: row.quantity for row in rows} == adds
    assert priced.net == sum(row.net for row in rows) > 0
    assert priced.vat == (priced.net * the_shop().vat_percent / 100).quantize(Decimal("0.01"), "ROUND_HALF_UP")
    assert priced.total == priced.net + priced.vat
    assert sum(row.hours_likely for row in rows) == priced.hours_likely


PRESSES = 5


@pytest.mark.django_db(transaction=True)
def test_a_variation_is_answered_once_however_many_press_at_once():
    job, boss = make_job(), make_manager()
    make_task(job, make_operation("ky-bush"))
    make_operation("ky-repair")
    before = job.agreed_total
    sent = variation_send(variation=price(job, boss, {"ky-repair": Decimal(1)}), by=boss, at=MOMENT, ready_on=None)
    ready, said = threading.Barrier(PRESSES), []

    def press(name, yes):
        ready.wait()
        try:
            variation_answer(variation=sent, agree=yes, name=name, at=MOMENT, content_hash=sent.content_hash)
            said.append("kept")
        except Refused as refusal:
            said.append(str(refusal))
        finally:
            connection.close()

    threads = [threading.Thread(target=press, args=(f"Owner {number}", number % 2 == 0)) for number in range(PRESSES)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert said.count("kept") == 1, said
    assert sum("answered this on Mon 11 Jan 2027" in words for words in said) == PRESSES - 1, said
    job.refresh_from_db()
    sent.refresh_from_db()
    agreed = sent.state == "agreed"
    assert job.agreed_total == before + (sent.total if agreed else 0)
    assert Task.objects.filter(variation=sent).count() == (1 if agreed else 0)

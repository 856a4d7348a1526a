"""Needs from tasks: quantities, kinds, passes, left out, and asked again."""

from decimal import Decimal

import pytest

from jobs.supplies.models import Need
from jobs.supplies.queries import needs_of
from jobs.supplies.services import needs_for_tasks, needs_work_out
from tests.factories import make_instrument, make_job, make_operation, make_part, make_task
from tests.jobs.supplies.needs_made import make_use, worked_out

pytestmark = pytest.mark.django_db


def test_quantities_are_for_the_whole_or_for_each_unit():
    job = make_job()
    make_use("cs-strip", make_part("stripper", unit="litre"), "0.42", per_unit=True)
    make_use("cs-strip", make_part("rags", unit="set"), 1)
    make_task(job, make_operation("cs-strip"), quantity=Decimal(11))
    assert worked_out(job) == {"stripper": Decimal("4.62"), "rags": 1}


def test_asked_again_it_adds_nothing():
    job = make_job()
    make_use("ac-hang", make_part())
    make_task(job, make_operation("ac-hang"))
    first = needs_work_out(job=job)
    assert [need.pk for need in needs_work_out(job=job)] == [need.pk for need in first]
    assert Need.objects.count() == 1


@pytest.mark.parametrize(("kind", "castors"), [("grand", 3), ("upright", 4)])
def test_a_grand_and_an_upright_need_their_own_number(kind, castors):
    job, castor = make_job(make_instrument(kind=kind)), make_part("castor", unit="piece")
    make_use("cs-castor", castor, 3, applies_to="grand")
    make_use("cs-castor", castor, 4, applies_to="upright")
    make_task(job, make_operation("cs-castor"))
    assert worked_out(job) == {"castor": castors}


def test_what_a_whole_operation_needs_is_needed_by_its_first_pass_only():
    job, operation = make_job(), make_operation("tn-settle")
    make_use("tn-settle", make_part("card", unit="piece"))
    make_use("tn-settle", make_part("felt", unit="m"), "0.5", per_unit=True)
    for number in (1, 2, 3):
        make_task(job, operation, pass_number=number, quantity=Decimal(1))
    needs_work_out(job=job)
    by_part = [need.part.code for need in needs_of(job)]
    assert sorted(by_part) == ["card", "felt", "felt", "felt"]


def test_tasks_left_out_or_done_need_nothing_and_let_go_of_what_was_open():
    job = make_job()
    make_use("ac-hang", make_part())
    make_use("ky-bush", make_part("cloth"))
    hang, _ = make_task(job, make_operation("ac-hang")), make_task(job, make_operation("ky-bush"), state="done")
    assert worked_out(job) == {"hammer-set": 1}
    hang.state = "left_out"
    hang.save()
    assert needs_work_out(job=job) == []
    assert Need.objects.get().state == Need.State.NOT_NEEDED


def test_a_changed_quantity_is_followed_until_somebody_acted_on_it():
    job = make_job()
    make_use("cs-strip", make_part("stripper", unit="litre"), 1, per_unit=True)
    task = make_task(job, make_operation("cs-strip"), quantity=Decimal(2))
    assert worked_out(job) == {"stripper": 2}
    task.quantity = Decimal(5)
    task.save()
    assert worked_out(job) == {"stripper": 5}
    Need.objects.update(state=Need.State.ORDERED)
    task.quantity = Decimal(9)
    task.save()
    assert worked_out(job) == {"stripper": 5}


def test_a_need_let_go_of_by_hand_does_not_come_back():
    job = make_job()
    make_use("ac-hang", make_part())
    make_task(job, make_operation("ac-hang"))
    needs_work_out(job=job)
    Need.objects.update(state=Need.State.NOT_NEEDED, dropped_because="the old ones stay")
    assert needs_work_out(job=job) == []
    assert Need.objects.get().state == Need.State.NOT_NEEDED


def test_needs_for_some_tasks_returns_the_new_ones():
    job = make_job()
    make_use("ac-hang", make_part())
    task = make_task(job, make_operation("ac-hang"))
    assert [need.task for need in needs_for_tasks(tasks=[task])] == [task]
    assert needs_for_tasks(tasks=[task]) == []

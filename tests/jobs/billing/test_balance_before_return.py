"""An instrument goes home when its balance is paid, or somebody says why it may go all the same."""

from decimal import Decimal as D

import pytest

from jobs import flow
from jobs.billing.queries import money_of
from tests.factories import MOMENT, TODAY, make_manager
from tests.jobs.billing.money_made import issue, make_money_job, pay
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db


@pytest.fixture
def ready():
    return make_money_job(state="ready", finished_on=TODAY)


def go_home(job, **more):
    return flow.job_returned(job, make_manager(), TODAY, MOMENT, **more)


def test_an_open_balance_keeps_it_here(ready):
    pay(issue(ready, "deposit"))
    with pytest.raises(Refused, match="£3,640.00 is open. Keep the payment first, or say why it may go home all the"):
        go_home(ready)
    ready.refresh_from_db()
    assert ready.state == "ready"


def test_what_was_agreed_and_never_asked_for_is_open_too(ready):
    assert money_of(ready).balance_open == D("5200.00")
    with pytest.raises(Refused, match="£5,200.00 is open"):
        go_home(ready)


def test_said_why_it_goes_and_the_reason_stays(ready):
    go_home(ready, in_spite_of_balance="the school pays at the end of term")
    ready.refresh_from_db()
    assert ready.state == "returned"
    assert "£5,200.00 open: the school pays at the end of term" in ready.note


def test_paid_in_full_it_goes_home(ready):
    pay(issue(ready, "deposit"))
    pay(issue(ready, "balance"))
    assert go_home(ready).state == "returned"


def test_a_variation_agreed_after_the_last_payment_is_open_again(ready):
    pay(issue(ready, "balance"))
    ready.agreed_total += D("60.00")
    ready.save()
    assert money_of(ready).changed_since == D("60.00")
    with pytest.raises(Refused, match="£60.00 is open"):
        go_home(ready)

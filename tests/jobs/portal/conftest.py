"""Two owners with a job each, everything of the first open to its link; the second's papers must stay shut."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from jobs import flow
from jobs.assessment.services import photograph_keep
from jobs.portal.services import link_make
from jobs.quoting.services import quote_send, quote_start, scope_write
from jobs.worklist.services import variation_price, variation_report
from tests.factories import make_client, make_instrument, make_manager, make_operation, make_picture


@dataclass
class Owned:
    """Everything one owner has with us."""

    instrument: Any
    quote: Any
    job: Any
    variation: Any
    photograph: Any
    invoice: Any


def make_owned(name: str, boss: Any, at: dt.datetime) -> Owned:
    """An accepted quote with its deposit, a variation that waits, a photograph."""
    piano = make_instrument(client=make_client(name))
    quote = quote_start(instrument=piano, assessment=None, by=boss, at=at)
    scope_write(scope=quote.scopes.get(), chosen={"ky-bush": None}, refused={}, title="Quiet keys")
    sent = quote_send(quote=quote, by=boss, at=at)
    flow.quote_answered(
        sent, scope=sent.scopes.get(), name=name, words="", at=at, via="private link", content_hash=sent.content_hash
    )
    job = sent.job
    variation = variation_report(job=job, found="A key is cracked.", affects=[], by=boss, at=at)
    variation_price(variation=variation, operations={"ky-glue": Decimal(1)}, leaves_out=[], words="Glue it.", by=boss)
    variation.refresh_from_db()
    return Owned(
        instrument=piano,
        quote=sent,
        job=job,
        variation=flow.variation_sent(variation, by=boss, at=at),
        photograph=photograph_keep(instrument=piano, upload=make_picture(), caption="The keys", by=boss, at=at),
        invoice=job.invoices.get(),
    )


@pytest.fixture
def boss(db):
    make_operation("ky-bush")
    make_operation("ky-glue")
    return make_manager()


@pytest.fixture
def mine(boss):
    return make_owned("Mrs Ferrowby", boss, timezone.now())


@pytest.fixture
def theirs(boss):
    return make_owned("Mr Pasketh", boss, timezone.now())


@pytest.fixture
def token(mine):
    return link_make(client=mine.instrument.client, instrument=mine.instrument, at=timezone.now())


@pytest.fixture
def owner(token):
    """A browser that came in by the link of the first owner."""
    browser = Client()
    assert browser.post(f"/your-piano/enter/{token}/").status_code == 302
    return browser

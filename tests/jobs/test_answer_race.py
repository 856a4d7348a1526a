"""An owner and a spouse press "I agree" at the same moment: one answer, one job, one deposit."""

import threading
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import connection
from django.utils import timezone

from jobs import flow
from jobs.billing.models import Invoice
from jobs.quoting.models import Answer
from jobs.quoting.services import quote_send, quote_start, scope_write
from jobs.worklist.models import Job
from tests.factories import make_instrument, make_manager
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db(transaction=True)

PRESSES = 6


def test_a_quote_is_accepted_once_however_many_press_at_once():
    call_command("load_reference", stdout=StringIO())
    manager, now = make_manager(), timezone.now()
    quote = quote_start(instrument=make_instrument(), assessment=None, by=manager, at=now)
    scope_write(scope=quote.scopes.get(), chosen={"ky-bush": None}, refused={}, title="Keys")
    sent = quote_send(quote=quote, by=manager, at=now)
    scope = sent.scopes.get()
    ready, said = threading.Barrier(PRESSES), []

    def press(name):
        ready.wait()
        try:
            flow.quote_answered(
                sent, scope=scope, name=name, words="", at=now, via="private link", content_hash=sent.content_hash
            )
            said.append("agreed")
        except Refused as refusal:
            said.append(str(refusal))
        finally:
            connection.close()

    threads = [threading.Thread(target=press, args=(f"Owner {number}",)) for number in range(PRESSES)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert said.count("agreed") == 1, said
    assert sum("answered once" in words for words in said) == PRESSES - 1, said
    assert Answer.objects.count() == Job.objects.count() == 1
    assert Invoice.objects.filter(kind="deposit").count() <= 1
    with pytest.raises(Refused, match="answered once"):
        flow.quote_answered(
            sent, scope=None, name="Later", words="", at=now, via="telephone", content_hash=sent.content_hash
        )

"""A relay killed at any moment: nothing lost, nothing sent twice, the rest shown to a person."""

import datetime as dt
import os
import random
import signal
import subprocess
import sys

import pytest
from django.conf import settings
from django.db import connection

from tests.factories import MOMENT
from tests.workshop.mail.test_mail_write import write
from workshop.mail.models import Mail
from workshop.mail.services import mail_doubt, mail_relay

KILLS, MAILS = 20, 60

# The child kills itself without any clearing up, at the given step of the given mail.
CHILD = """
import datetime as dt, os, signal, sys
import django
django.setup()
from workshop.mail import services

step, number = sys.argv[1], int(sys.argv[2])
plain_hand_over, plain_keep = services.hand_over, services._keep
seen = 0

def die():
    os.kill(os.getpid(), signal.SIGKILL)

def hand_over(message):
    global seen
    seen += 1
    if step == "marked" and seen == number:
        die()
    if step == "under way" and seen == number:
        import smtplib
        def data(self, message):
            self.putcmd("data")
            self.getreply()
            self.send(b"Subject: half")
            die()
        smtplib.SMTP.data = data
    handed = plain_hand_over(message)
    if step == "sent" and seen == number:
        die()
    return handed

def keep(*given):
    ended = plain_keep(*given)
    if step == "kept" and seen == number:
        die()
    return ended

services.hand_over, services._keep = hand_over, keep
services.mail_relay(at=dt.datetime.fromisoformat(sys.argv[3]))
"""


def child_environment(sink):
    database = connection.settings_dict
    if connection.vendor == "sqlite":
        url = f"sqlite:///{database['NAME']}"
    else:
        url = f"postgres://{database['USER']}:{database['PASSWORD']}@{database['HOST']}:{database['PORT']}/{database['NAME']}"
    return {
        **os.environ,
        "DJANGO_SETTINGS_MODULE": "workshop.settings",
        "DATABASE_URL": url,
        "EMAIL_URL": sink.url,
        "PYTHONPATH": str(settings.BASE_DIR),
    }


@pytest.mark.django_db(transaction=True)
def test_twenty_kills_lose_nothing_and_send_nothing_twice(sink):
    written = {write().message_id for _ in range(MAILS)}
    chance = random.Random(20270111)
    doubtful = 0
    for kill in range(KILLS):
        step = ("marked", "under way", "sent", "kept")[kill % 4]
        killed = subprocess.run(
            [sys.executable, "-c", CHILD, step, str(chance.randint(1, 3)), MOMENT.isoformat()],
            env=child_environment(sink),
            capture_output=True,
            timeout=60,
        )
        assert killed.returncode == -signal.SIGKILL, killed.stderr.decode()
        doubtful += mail_doubt(at=MOMENT + dt.timedelta(hours=1), older_than=dt.timedelta(0))
    settings_of_child = child_environment(sink)
    subprocess.run(
        [sys.executable, "-c", CHILD, "none", "0", MOMENT.isoformat()], env=settings_of_child, check=True, timeout=60
    )

    arrived = sink.ids
    uncertain = set(Mail.objects.filter(state="uncertain").values_list("message_id", flat=True))
    sent = set(Mail.objects.filter(state="sent").values_list("message_id", flat=True))
    assert max(arrived.values()) == 1, "a mail arrived twice"
    assert sent | uncertain == written, "a mail was lost from the outbox"
    assert sent <= set(arrived), "a mail is called sent and never arrived"
    assert set(arrived) <= written
    # Doubt is real: some of the uncertain ones did arrive, some did not, and none is in the wrong pile.
    assert len(uncertain) == doubtful == KILLS - KILLS // 4
    assert {True, False} == {message in arrived for message in uncertain}
    assert mail_relay(at=MOMENT + dt.timedelta(days=1)).total() == 0

"""A relay killed at any moment: nothing lost, nothing sent twice, the rest shown to a person."""

import datetime as dt
import random
import signal
import subprocess
import sys

import pytest

from tests.factories import MOMENT
from tests.processes import environment
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


@pytest.mark.django_db(transaction=True)
def test_twenty_kills_lose_nothing_and_send_nothing_twice(sink, tmp_path):
    env = environment(tmp_path, EMAIL_URL=sink.url)
    written = {write().message_id for _ in range(MAILS)}
    chance = random.Random(20270111)
    doubtful = 0
    for kill in range(KILLS):
        step = ("marked", "under way", "sent", "kept")[kill % 4]
        killed = subprocess.run(
            [sys.executable, "-c", CHILD, step, str(chance.randint(1, 3)), MOMENT.isoformat()],
            env=env,
            capture_output=True,
            timeout=60,
        )
        assert killed.returncode == -signal.SIGKILL, killed.stderr.decode()
        doubtful += mail_doubt(at=MOMENT + dt.timedelta(hours=1), older_than=None)
    subprocess.run([sys.executable, "-c", CHILD, "none", "0", MOMENT.isoformat()], env=env, check=True, timeout=60)

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

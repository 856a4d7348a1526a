"""A real worker on both brokers: what is written into the outbox arrives at a mail server."""

import datetime as dt
import os
import subprocess
import sys

import pytest
from django.conf import settings
from django.utils import timezone

from tests.processes import environment, running, wait_for
from tests.workshop.mail.test_mail_write import write
from workshop.mail.models import Mail

NUDGE = "import django; django.setup(); from workshop.mail.services import nudge; nudge()"


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("broker", ["files", pytest.param("redis", marks=pytest.mark.servers)])
def test_mail_goes_when_the_worker_starts_and_when_it_is_nudged(sink, tmp_path, broker):
    more = {"EMAIL_URL": sink.url} | ({"BROKER_URL": settings.CELERY_BROKER_URL} if broker == "redis" else {})
    env = environment(tmp_path / "data", **more)
    log = tmp_path / "log"
    left_behind = write()
    Mail.objects.filter(pk=left_behind.pk).update(state="sending", marked_at=timezone.now() - dt.timedelta(hours=1))
    first = write()
    with running([sys.executable, "manage.py", "worker"], env, log) as worker:
        wait_for(lambda: sink.mails, 60, log)
        second = write()
        # The clock looks every half minute: what comes sooner came by the nudge.
        subprocess.run([sys.executable, "-c", NUDGE], env=env, cwd=settings.BASE_DIR, check=True, timeout=60)
        wait_for(lambda: len(sink.mails) == 2, 15, log)
        wait_for(lambda: Mail.objects.filter(state="sent").count() == 2, 10, log)
    assert worker.returncode == 0, log.read_text()
    assert set(sink.ids) == {first.message_id, second.message_id}
    left_behind.refresh_from_db()
    assert left_behind.state == "uncertain"


def test_a_broker_of_files_never_shows_half_a_message(tmp_path):
    from kombu import Connection

    import workshop.celery  # noqa: F401 - makes the transport known

    for name in ("queue", "processed", "control"):
        (tmp_path / name).mkdir()
    options = {
        "data_folder_in": str(tmp_path / "queue"),
        "data_folder_out": str(tmp_path / "queue"),
        "processed_folder": str(tmp_path / "processed"),
        "control_folder": str(tmp_path / "control"),
    }
    with Connection("filesystem://", transport_options=options) as line:
        assert type(line.transport).__module__ == "workshop.running.broker"
        queue = line.SimpleQueue("notes")
        for number in range(20):
            queue.put({"number": number})
        (tmp_path / "queue" / ".0_half.notes.msg.half").write_text('{"bod')
        got = []
        while len(got) < 20:
            message = queue.get(timeout=2)
            message.ack()
            got.append(message.payload["number"])
        queue.close()
    assert got == list(range(20))
    assert os.listdir(tmp_path / "processed") == []

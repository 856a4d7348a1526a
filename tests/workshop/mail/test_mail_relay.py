"""The relay against a real SMTP server."""

import datetime as dt
import socket
import threading

import pytest
from django.db import connection

from tests.factories import MOMENT
from tests.workshop.mail.test_mail_write import write
from workshop.mail.models import Mail
from workshop.mail.queries import mail_counts, mails_delayed, mails_in_doubt
from workshop.mail.services import BACK_OFF, DOUBT_AFTER, MOST_ATTEMPTS, mail_doubt, mail_relay

pytestmark = pytest.mark.django_db(transaction=True)
SMTP = "django.core.mail.backends.smtp.EmailBackend"


@pytest.fixture
def smtp(settings, sink):
    settings.EMAIL_BACKEND, settings.EMAIL_HOST, settings.EMAIL_PORT = SMTP, "127.0.0.1", sink.port
    settings.EMAIL_TIMEOUT = 5
    return sink


def later(**more):
    return MOMENT + dt.timedelta(**more)


def test_a_mail_arrives_as_it_was_written(smtp):
    mail = write(
        to_name='Mrs "Nan" Ferrowby, née Ölander 🎹', attachment=b"%PDF-1.4 quote", attachment_name="quote 23.pdf"
    )
    assert mail_relay(at=MOMENT)["sent"] == 1
    mail.refresh_from_db()
    assert (mail.state, mail.attempts, mail.trouble) == (Mail.State.SENT, 1, "")
    assert mail.sent_at >= MOMENT
    (arrived,) = smtp.mails
    assert arrived["Message-ID"] == mail.message_id
    assert arrived["To"].addresses[0].display_name == 'Mrs "Nan" Ferrowby, née Ölander 🎹'
    assert arrived["To"].addresses[0].addr_spec == mail.to
    assert arrived.get_body(("plain",)).get_content().replace("\r\n", "\n") == mail.text
    assert arrived.get_body(("html",)) is not None
    (paper,) = arrived.iter_attachments()
    assert (paper.get_filename(), paper.get_content()) == ("quote 23.pdf", b"%PDF-1.4 quote")


def test_what_was_sent_is_not_sent_again(smtp):
    write()
    mail_relay(at=MOMENT)
    assert mail_relay(at=later(days=1)).total() == 0
    assert len(smtp.mails) == 1


def test_a_mail_waits_until_its_hour(smtp):
    mail = write()
    Mail.objects.filter(pk=mail.pk).update(not_before=later(minutes=3))
    assert mail_relay(at=MOMENT).total() == 0
    assert mail_relay(at=later(minutes=3))["sent"] == 1


@pytest.mark.parametrize("place", ["answers", "at_rcpt"])
def test_a_temporary_refusal_is_tried_again_after_a_while(smtp, place):
    mail = write()
    getattr(smtp, place).append("451 greylisted, come back")
    assert mail_relay(at=MOMENT)["waiting"] == 1
    mail.refresh_from_db()
    assert (mail.state, mail.attempts) == (Mail.State.WAITING, 1)
    assert "451 greylisted" in mail.trouble
    assert list(mails_delayed()) == [mail]
    assert mail_relay(at=MOMENT).total() == 0
    assert mail_relay(at=mail.not_before)["sent"] == 1
    assert list(smtp.ids.values()) == [1]


@pytest.mark.parametrize("place", ["answers", "at_rcpt"])
def test_a_final_refusal_is_shown_to_a_person(smtp, place):
    mail = write()
    getattr(smtp, place).append("550 no such box")
    write(to="pasketh@harrowmere.example")
    assert mail_relay(at=MOMENT) == {"refused": 1, "sent": 1}
    (shown,) = mails_in_doubt()
    assert shown == mail
    assert "550 no such box" in shown.trouble
    assert mail_relay(at=later(days=3)).total() == 0


def test_a_server_that_is_not_there_delays_the_mail_more_each_time(settings):
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        settings.EMAIL_BACKEND, settings.EMAIL_HOST = SMTP, "127.0.0.1"
        settings.EMAIL_PORT = probe.getsockname()[1]
        mail, at = write(), MOMENT
        for wait in BACK_OFF[:3]:
            assert mail_relay(at=at)["waiting"] == 1
            mail.refresh_from_db()
            assert wait <= mail.not_before - at < wait + dt.timedelta(seconds=20)
            at = mail.not_before
    assert "could not be reached" in mail.trouble


def test_after_a_day_of_trying_a_person_is_asked(settings):
    settings.EMAIL_BACKEND, settings.EMAIL_HOST, settings.EMAIL_PORT = SMTP, "127.0.0.1", 1
    mail = write()
    Mail.objects.filter(pk=mail.pk).update(attempts=MOST_ATTEMPTS - 1)
    assert mail_relay(at=MOMENT)["refused"] == 1
    assert f"Tried {MOST_ATTEMPTS} times" in mails_in_doubt().get().trouble


def test_a_server_that_hangs_after_taking_the_message_leaves_doubt(smtp, settings):
    settings.EMAIL_TIMEOUT = 0.5
    mail = write()
    smtp.answers.append("hang")
    assert mail_relay(at=MOMENT)["uncertain"] == 1
    assert smtp.hung == 1
    assert list(mails_in_doubt()) == [mail]
    assert mail_relay(at=later(days=1)).total() == 0


def test_a_line_that_breaks_during_the_message_leaves_doubt(smtp):
    write()
    smtp.answers.append("break")
    assert mail_relay(at=MOMENT)["uncertain"] == 1


def test_a_server_that_never_greets_leaves_no_doubt(settings):
    with socket.socket() as mute:
        mute.bind(("127.0.0.1", 0))
        mute.listen()
        settings.EMAIL_BACKEND, settings.EMAIL_HOST = SMTP, "127.0.0.1"
        settings.EMAIL_PORT, settings.EMAIL_TIMEOUT = mute.getsockname()[1], 0.3
        write()
        assert mail_relay(at=MOMENT)["waiting"] == 1


def test_one_mail_that_cannot_be_put_together_does_not_hold_up_the_others(smtp):
    bad = write()
    Mail.objects.filter(pk=bad.pk).update(to="nobody\n@harrowmere.example")
    write()
    assert mail_relay(at=MOMENT) == {"refused": 1, "sent": 1}
    assert "could not be put together" in mails_in_doubt().get().trouble


def test_what_was_in_flight_at_a_crash_becomes_uncertain_and_is_not_sent(smtp):
    mail = write()
    Mail.objects.filter(pk=mail.pk).update(state=Mail.State.SENDING, marked_at=MOMENT)
    assert mail_relay(at=MOMENT + DOUBT_AFTER - dt.timedelta(seconds=1)).total() == 0
    assert mail_relay(at=MOMENT + DOUBT_AFTER)["uncertain"] == 1
    assert smtp.mails == []
    assert list(mails_in_doubt()) == [mail]


def test_a_worker_that_starts_alone_need_not_wait_to_find_the_doubtful():
    mail = write()
    Mail.objects.filter(pk=mail.pk).update(state=Mail.State.SENDING, marked_at=MOMENT)
    assert mail_doubt(at=MOMENT, older_than=None) == 1
    assert mail_counts() == {"uncertain": 1}


def test_a_slow_attempt_that_was_put_down_as_doubtful_is_put_right_by_what_came_of_it(smtp, monkeypatch):
    from workshop.mail import services

    mail, plain = write(), services.hand_over

    def slow(message):
        handed = plain(message)
        Mail.objects.filter(pk=mail.pk).update(state=Mail.State.UNCERTAIN)
        return handed

    monkeypatch.setattr(services, "hand_over", slow)
    mail_relay(at=MOMENT)
    mail.refresh_from_db()
    assert mail.state == Mail.State.SENT


def test_eight_relays_at_once_send_each_mail_once(smtp):
    written = {write().message_id for _ in range(40)}
    start = threading.Barrier(8)
    troubles = []

    def relay():
        start.wait()
        try:
            mail_relay(at=MOMENT)
        except Exception as error:  # noqa: BLE001 - reported below
            troubles.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=relay) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert troubles == []
    assert set(smtp.ids) == written
    assert set(smtp.ids.values()) == {1}
    assert mail_counts() == {"sent": 40}


def test_the_relay_refuses_to_run_inside_a_transaction():
    from django.db import transaction

    write()
    with transaction.atomic(), pytest.raises(RuntimeError, match="durable"):
        mail_relay(at=MOMENT)


def test_without_a_mail_server_papers_become_files(settings, tmp_path):
    settings.EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
    settings.EMAIL_FILE_PATH = str(tmp_path)
    mail = write()
    assert mail_relay(at=MOMENT)["sent"] == 1
    (kept,) = tmp_path.iterdir()
    assert mail.message_id.encode() in kept.read_bytes()

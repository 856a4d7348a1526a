import pytest
from django.db import transaction

from tests.factories import MOMENT
from workshop.house.queries import the_shop
from workshop.mail import services
from workshop.mail.message import make_message
from workshop.mail.models import Mail
from workshop.mail.services import mail_write
from workshop.web.errors import Refused


def write(**more):
    given = {
        "to": "ferrowby@harrowmere.example",
        "to_name": "Mrs Ferrowby",
        "name": "note",
        "context": {"subject": "Your piano", "words": "The strings are here."},
        "at": MOMENT,
    }
    return mail_write(**{**given, **more})


@pytest.mark.django_db
def test_a_message_is_made_from_three_templates_and_escapes_only_its_html():
    shop = the_shop()
    made = make_message("note", {"subject": "Felt & Shank\nBcc: x", "words": "5 < 6 & “½ £”", "shop": shop})
    assert made.subject == "Felt & Shank Bcc: x"
    assert made.text.startswith("5 < 6 & “½ £”")
    assert shop.name in made.text
    assert "<p>5 &lt; 6 &amp; “½ £”</p>" in made.html


@pytest.mark.django_db
def test_a_mail_waits_in_the_outbox_with_an_id_of_its_own():
    first, second = write(), write()
    assert (first.state, first.subject, first.text) == (Mail.State.WAITING, "Your piano", "The strings are here.\n")
    assert first.message_id != second.message_id
    assert first.message_id.endswith("@harrowmere.example>")


@pytest.mark.django_db
@pytest.mark.parametrize(
    "address", ["", "nobody", "a@b", "a b@harrowmere.example", "x@harrowmere.example\nBcc: y@z.example"]
)
def test_an_address_nobody_can_write_to_is_refused_with_a_sentence(address):
    with pytest.raises(Refused, match="is not an e-mail address anybody can write to"):
        write(to=address)
    assert not Mail.objects.exists()


@pytest.mark.django_db
def test_an_attachment_needs_a_file_name():
    with pytest.raises(Refused, match="name of its file"):
        write(attachment=b"%PDF-1.4")


@pytest.mark.django_db
def test_the_relay_is_nudged_when_the_change_is_kept_and_only_then(django_capture_on_commit_callbacks, monkeypatch):
    nudges = []
    monkeypatch.setattr(services, "nudge", lambda: nudges.append(1))
    with django_capture_on_commit_callbacks(execute=True):
        write()
        assert nudges == []
    assert nudges == [1]


@pytest.mark.django_db(transaction=True)
def test_a_change_rolled_back_leaves_no_mail_and_no_nudge(monkeypatch):
    nudges = []
    monkeypatch.setattr(services, "nudge", lambda: nudges.append(1))

    def half_done():
        with transaction.atomic():
            write()
            raise RuntimeError("the rest of the change failed")

    with pytest.raises(RuntimeError, match="the rest"):
        half_done()
    assert not Mail.objects.exists()
    assert nudges == []


@pytest.mark.django_db(transaction=True)
def test_a_broker_that_is_away_does_not_fail_the_page(monkeypatch):
    from kombu.exceptions import OperationalError

    from workshop.tasks import mail_relay as task

    def away(**_):
        raise OperationalError("connection refused")

    monkeypatch.setattr(task, "apply_async", away)
    assert write().state == Mail.State.WAITING


def test_the_task_keeps_its_name():
    from workshop.celery import app

    app.loader.import_default_modules()
    assert "workshop.mail_relay" in app.tasks

"""Messages to the client: drafted once for what happened, released once, or left unsent."""

import datetime as dt
from decimal import Decimal

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse

from jobs import flow
from jobs.portal.models import ClientLink
from jobs.updates.models import Update
from jobs.updates.services import update_change, update_draft, update_drop, update_write
from jobs.updates.words import draft_words
from tests.factories import MOMENT, TODAY, make_client, make_instrument, make_job, make_manager
from workshop.mail.models import Mail
from workshop.mail.services import mail_relay
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db
FACTS = {
    "quote_sent": {"ways": 2, "valid_until": dt.date(2027, 2, 8)},
    "accepted": {"scope": "Quiet keys", "deposit": Decimal("316.80")},
    "booked_in": {"on": TODAY},
    "opened_up": {"stage": "Opening up", "next_stage": "Keys"},
    "variation": {"found": "A key is cracked.", "total": Decimal("96.00"), "ready_on": dt.date(2027, 5, 7)},
    "parts_here": {},
    "stage_done": {"stage": "Keys", "next_stage": "Regulation"},
    "date_moved": {"old": dt.date(2027, 4, 9), "new": dt.date(2027, 4, 16), "why": "The felt came late."},
    "invoice": {"number": 12, "total": Decimal("316.80"), "about": "the deposit", "due_on": dt.date(2027, 1, 25)},
    "ready": {"met": 83, "read": 85},
}  # fmt: skip
SAID = {
    "quote_sent": ["2 ways to go on", "Mon 8 Feb 2027"],
    "accepted": ["“Quiet keys”", "£316.80"],
    "booked_in": ["Mon 11 Jan 2027"],
    "opened_up": ["opened up"],
    "variation": ["A key is cracked.", "£96.00", "Fri 7 May 2027"],
    "parts_here": ["parts"],
    "stage_done": ["keys", "regulation"],
    "date_moved": ["Fri 9 Apr 2027", "Fri 16 Apr 2027", "The felt came late.", "sorry"],
    "invoice": ["12", "£316.80", "the deposit", "Mon 25 Jan 2027"],
    "ready": ["83 of 85"],
}


@pytest.fixture
def boss(db):
    return make_manager()


@pytest.fixture
def job(db):
    return make_job(make_instrument(client=make_client("Zoë Ferrowby")))


def draft(job, key="booked_in:1", event="booked_in", **more):
    given = {"instrument": job.instrument, "job": job, "happened_at": MOMENT, "facts": FACTS[event], **more}
    return update_draft(event=event, event_key=key, **given)


def test_every_event_has_words_and_a_row_here():
    assert set(FACTS) == set(SAID) == set(Update.Event.values)


@pytest.mark.parametrize("event", sorted(FACTS))
def test_a_draft_says_what_happened_with_its_figures_and_weekdays(event):
    made = draft_words(event, "Larkwhistle grand", FACTS[event])
    for words in SAID[event]:
        assert words in made.body + made.subject
    assert "Larkwhistle grand" in made.subject + made.body
    assert "None" not in made.body


@pytest.mark.parametrize("event", ["quote_sent", "booked_in", "variation", "date_moved", "invoice", "stage_done"])
def test_a_draft_without_what_it_must_say_is_not_made(event, job):
    with pytest.raises(KeyError):
        draft(job, event=event, facts={})
    assert not Update.objects.exists()


def test_the_same_event_makes_one_draft_and_keeps_changed_words(job, boss):
    first = draft(job)
    update_change(update=first, subject="It is here", body="All well.", by=boss)
    again = draft(job)
    assert (again.pk, again.subject, Update.objects.count()) == (first.pk, "It is here", 1)
    assert draft(job, key="booked_in:2").pk != first.pk


@pytest.mark.django_db(transaction=True)
def test_a_released_message_is_one_mail_with_text_html_and_a_link_that_opens(job, boss, settings):
    settings.SITE_URL = "https://harrowmere.example"
    released = flow.update_released(draft(job), by=boss, at=MOMENT)
    mail = Mail.objects.get()
    assert (released.mail, released.state, released.released_by) == (mail, "released", boss)
    assert (mail.to, mail.to_name) == (job.instrument.client.email, "Zoë Ferrowby")
    address = mail.text.split("https://harrowmere.example")[1].split()[0]
    for part in (mail.text, mail.html):
        assert "came to us on Mon 11 Jan 2027" in part
        assert f"https://harrowmere.example{address}" in part
    assert "<script" not in mail.html
    link = ClientLink.objects.get()
    ClientLink.objects.update(expires_at=dt.datetime(2099, 1, 1, tzinfo=dt.UTC))
    assert link.token_hash not in mail.text + mail.html
    assert Client().post(address)["Location"] == "/your-piano/"


def test_it_is_released_once(job, boss):
    update = draft(job)
    flow.update_released(update, by=boss, at=MOMENT)
    with pytest.raises(Refused, match="released already"):
        flow.update_released(update, by=boss, at=MOMENT)
    with pytest.raises(Refused, match="released already"):
        update_change(update=update, subject="Other", body="words", by=boss)
    with pytest.raises(Refused, match="released already"):
        update_drop(update=update, by=boss, at=MOMENT)
    assert (Mail.objects.count(), ClientLink.objects.count()) == (1, 1)


def test_what_was_left_unsent_cannot_be_released(job, boss):
    update = draft(job)
    assert update_drop(update=update, by=boss, at=MOMENT).state == "dropped"
    with pytest.raises(Refused, match="not sent already"):
        flow.update_released(update, by=boss, at=MOMENT)
    assert (Mail.objects.count(), ClientLink.objects.count()) == (0, 0)


def test_without_an_address_it_is_refused_by_name_and_stays_a_draft(job, boss):
    type(job.instrument.client).objects.update(email="")
    update = draft(job)
    with pytest.raises(Refused, match="Zoë Ferrowby has no e-mail address"):
        flow.update_released(update, by=boss, at=MOMENT)
    update.refresh_from_db()
    assert (update.state, Mail.objects.count(), ClientLink.objects.count()) == ("draft", 0, 0)


@pytest.mark.django_db(transaction=True)
def test_a_release_that_is_rolled_back_sends_nothing(job, boss, sink, settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", sink.port
    update = draft(job)
    with transaction.atomic():
        flow.update_released(update, by=boss, at=MOMENT)
        transaction.set_rollback(True)
    assert mail_relay(at=MOMENT)["sent"] == 0
    assert sink.mails == []
    update.refresh_from_db()
    assert (update.state, Mail.objects.count(), ClientLink.objects.count()) == ("draft", 0, 0)
    flow.update_released(update, by=boss, at=MOMENT)
    assert mail_relay(at=MOMENT)["sent"] == 1
    assert len(sink.mails) == 1


@pytest.mark.parametrize(("subject", "body"), [("", "words"), ("subject", " "), (" ", "words")])
def test_a_message_needs_a_subject_and_words(job, boss, subject, body):
    with pytest.raises(Refused):
        update_write(job=job, event="stage_done", subject=subject, body=body, by=boss, at=MOMENT)
    update = draft(job)
    with pytest.raises(Refused, match="subject and some words"):
        update_change(update=update, subject=subject, body=body, by=boss)
    assert Update.objects.get().body == update.body


def test_words_with_markup_arrive_as_text(job, boss):
    update = update_change(update=draft(job), subject="<b>Hi</b>", body="<img src=x onerror=alert(1)> & more", by=boss)
    mail = flow.update_released(update, by=boss, at=MOMENT).mail
    assert "<img" not in mail.html
    assert "&lt;img" in mail.html
    assert "<img src=x onerror=alert(1)> & more" in mail.text
    assert mail.subject == "<b>Hi</b>"


def test_the_page_keeps_what_was_typed_when_releasing_is_refused(job, as_manager):
    type(job.instrument.client).objects.update(email="")
    update = draft(job)
    answer = as_manager.post(
        reverse("update-show", args=[update.pk]), {"subject": "Ours", "body": "Typed words.", "release": "1"}
    )
    assert answer.status_code == 422
    for words in ("Typed words.", "has no e-mail address"):
        assert words in answer.content.decode()


def test_only_the_manager_writes_to_clients(job, as_technician):
    update = draft(job)
    for name in ("update-release", "update-drop"):
        assert as_technician.post(reverse(name, args=[update.pk])).status_code == 403
    update.refresh_from_db()
    assert update.state == "draft"

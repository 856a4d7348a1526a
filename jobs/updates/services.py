"""Drafts of messages, their release into the outbox, and leaving one unsent."""

import datetime as dt
import uuid
from collections.abc import Mapping
from typing import Any

from django.db import transaction

from jobs.intake.models import Instrument
from jobs.updates.models import Update
from jobs.updates.words import draft_words
from jobs.worklist.models import Job
from workshop.house.queries import the_shop
from workshop.mail.services import mail_write
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check


@transaction.atomic
def update_draft(
    *,
    event: str,
    event_key: str,
    instrument: Instrument,
    job: Job | None,
    happened_at: dt.datetime,
    facts: Mapping[str, Any],
    written_from: str = "",
    new_date: dt.date | None = None,
    reason: str = "",
) -> Update:
    """Draft the message of something that happened. The same event (``event_key``) never makes a second draft.

    ``new_date``, ``reason``: a date the client is given by this message, once it is released, and why it moves.
    Raises KeyError when a fact its words need is missing.
    """
    existing = Update.objects.filter(event_key=event_key).first()
    if existing:
        return existing
    draft = draft_words(event, instrument.words, facts)
    update = Update(
        client=instrument.client,
        instrument=instrument,
        job=job,
        event=event,
        event_key=event_key,
        happened_at=happened_at,
        subject=draft.subject[:200],
        body=draft.body,
        written_from=written_from[:200],
        new_date=new_date,
        reason=reason[:200],
    )
    update.full_clean()
    update.save()
    return update


@transaction.atomic
def update_write(*, job: Job, event: str, subject: str, body: str, by: Person, at: dt.datetime) -> Update:
    """Draft a message in the manager's own words about something that happened. Raises Refused without words."""
    update = Update(
        client=job.instrument.client,
        instrument=job.instrument,
        job=job,
        event=event,
        event_key=f"by-hand:{uuid.uuid4().hex}",
        happened_at=at,
        subject=subject.strip(),
        body=body.strip(),
        written_from=f"{by}’s own words",
    )
    row_check(update)
    update.save()
    return update


@transaction.atomic
def update_change(*, update: Update, subject: str, body: str, by: Person) -> Update:
    """Change the words of a draft. Raises Refused once it was released or left, or without words."""
    update = _draft(update)
    if not subject.strip() or not body.strip():
        raise Refused("A message needs a subject and some words.")
    update.subject = subject.strip()
    update.body = body.strip()
    update.full_clean()
    update.save(update_fields=["subject", "body"])
    return update


@transaction.atomic
def update_release(*, update: Update, by: Person, at: dt.datetime, link_url: str) -> Update:
    """Put a draft into the outbox, once, with the client's private link; it goes when this transaction has ended.

    Raises Refused when it was released or left before, or when the client has no e-mail address.
    """
    update = _draft(update)
    client = update.client
    if not client.email:
        raise Refused(f"{client.name} has no e-mail address: add one, or telephone and leave this message unsent.")
    shop = the_shop()
    update.mail = mail_write(
        to=client.email,
        to_name=client.name,
        name="update",
        context={"update": update, "client": client, "shop": shop, "by": by, "link_url": link_url},
        at=at,
    )
    update.state = Update.State.RELEASED
    update.released_at = at
    update.released_by = by
    update.save(update_fields=["mail", "state", "released_at", "released_by"])
    return update


@transaction.atomic
def update_drop(*, update: Update, by: Person, at: dt.datetime) -> Update:
    """Leave a draft unsent, for good; it stays readable. Raises Refused when it is no draft any more."""
    update = _draft(update)
    update.state = Update.State.DROPPED
    update.released_at = at
    update.released_by = by
    update.save(update_fields=["state", "released_at", "released_by"])
    return update


def _draft(update: Update) -> Update:
    """Return the locked row of a draft. Raises Refused when it is one no more."""
    update = Update.objects.select_for_update(of=("self",)).select_related("client", "instrument").get(pk=update.pk)
    if update.state != Update.State.DRAFT:
        raise Refused(f"This message was {update.get_state_display()} already.")
    return update

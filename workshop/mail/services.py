"""Writing mail into the outbox, sending it from there, and settling what stayed doubtful."""

import time
import uuid
from collections import Counter
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any, Literal

import structlog
from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.mail import EmailMultiAlternatives
from django.core.mail.message import sanitize_address
from django.db import connection, transaction
from django.db.models import F, Q

from workshop.mail.message import make_message
from workshop.mail.models import Mail
from workshop.mail.transport import Handed, Outcome, hand_over
from workshop.people.models import Person
from workshop.web.errors import Refused

log = structlog.get_logger(__name__)

# A conversation with a mail server has at most eight waits of EMAIL_TIMEOUT (20 s) each; whoever marked a mail
# longer ago than this is not at it any more.
DOUBT_AFTER = timedelta(minutes=4)
BACK_OFF = tuple(timedelta(minutes=minutes) for minutes in (1, 2, 5, 10, 20, 40, 60))
MOST_ATTEMPTS = 30  # about a day with the back-off above; RFC 5321, 4.5.4.1, asks for four to five days of a relay
Decision = Literal["again", "arrived", "drop"]


def mail_write(
    *,
    to: str,
    to_name: str,
    name: str,
    context: Mapping[str, Any],
    at: datetime,
    attachment: bytes | None = None,
    attachment_name: str = "",
) -> Mail:
    """Write one mail into the outbox, in the caller's transaction; the relay is nudged when that has ended.

    ``name`` names the three templates (see ``make_message``). Raises Refused for an address nobody can write to
    or an attachment without a name.
    """
    message = make_message(name, context)
    mail = Mail(
        to=to.strip(),
        to_name=" ".join(to_name.split())[:120],
        subject=message.subject if len(message.subject) <= 200 else f"{message.subject[:199]}…",
        text=message.text,
        html=message.html,
        message_id=f"<{uuid.uuid4().hex}@{settings.MAIL_DOMAIN}>",
        attachment=attachment,
        attachment_name=attachment_name,
        written_at=at,
    )
    if (attachment is None) != (not attachment_name):
        raise Refused("An attachment needs both its content and the name of its file.")
    try:
        mail.full_clean()
        sanitize_address(mail.to, "utf-8")
    except (ValidationError, ValueError) as error:
        raise Refused(f"“{to}” is not an e-mail address anybody can write to: put it right first.") from error
    mail.save()
    transaction.on_commit(nudge)
    return mail


def nudge() -> None:
    """Tell a worker that mail waits. A broker that is away only delays it: the worker's clock looks again."""
    from workshop.tasks import mail_relay as task

    try:
        task.apply_async(retry=False)
    except Exception as error:  # whatever ails the broker, the row is written and the page must not fail
        log.warning("mail.nudge_lost", error=str(error))


def mail_relay(*, at: datetime) -> Counter[str]:
    """Send all mail that waits and may go at ``at``, one by one; return how many ended in which state.

    Each row is marked and the mark kept before the mail server is spoken to, so a crash leaves doubt, never a
    second mail. Any number of relays may run at once. Must not run inside a transaction (RuntimeError).
    """
    began = time.monotonic()
    ended: Counter[str] = Counter()
    ended["uncertain"] += mail_doubt(at=at)
    while True:
        moment = at + timedelta(seconds=time.monotonic() - began)
        mail = _take(moment)
        if mail is None:
            return +ended
        handed = hand_over(_message(mail))
        moment = at + timedelta(seconds=time.monotonic() - began)
        ended[_keep(mail, handed, moment)] += 1


def mail_doubt(*, at: datetime, older_than: timedelta | None = DOUBT_AFTER) -> int:
    """Mark as uncertain what has been ``sending`` for ``older_than`` or longer; return how many there were.

    With None, whatever is marked: right after the only worker started, that was left by one that died.
    """
    going = Mail.objects.filter(state=Mail.State.SENDING)
    if older_than is not None:
        going = going.filter(marked_at__lte=at - older_than)
    return going.update(
        state=Mail.State.UNCERTAIN,
        trouble="Sending was cut off. Nobody can tell whether it arrived: ask, or look at the mail server.",
    )


def mail_left_behind(*, alone: bool, at: datetime) -> None:
    """Put what a dead worker left in doubt before a person, and set the relay going; called as a worker starts.

    ``alone`` says that there is no other worker, so that whatever is marked as being sent was left behind.
    """
    mail_doubt(at=at, older_than=None if alone else DOUBT_AFTER)
    nudge()


def mail_resolve(*, mail: Mail, decision: Decision, by: Person, at: datetime) -> Mail:
    """Settle a doubtful or refused mail: send it "again", it "arrived", or "drop" it.

    Raises Refused when it is neither doubtful nor refused any more, or when a refused one is said to have arrived.
    """
    state, words = {
        "again": (Mail.State.WAITING, "had it sent again"),
        "arrived": (Mail.State.SENT, "says it arrived"),
        "drop": (Mail.State.DROPPED, "let it drop"),
    }[decision]
    open_states = [Mail.State.UNCERTAIN] if decision == "arrived" else [Mail.State.UNCERTAIN, Mail.State.REFUSED]
    changes: dict[str, Any] = {"state": state, "trouble": f"{by} {words}."}
    if decision == "again":
        changes |= {"attempts": 0, "not_before": None, "marked_at": None}
    if decision == "arrived":
        changes["sent_at"] = F("marked_at")
    with transaction.atomic():
        if not Mail.objects.filter(pk=mail.pk, state__in=open_states).update(**changes):
            mail.refresh_from_db()
            raise Refused(f"This mail is settled already: it is “{mail.get_state_display()}”. Nothing was changed.")
        if decision == "again":
            transaction.on_commit(nudge)
    mail.refresh_from_db()
    log.info("mail.resolved", mail=mail.pk, decision=decision, by=by.pk, at=at.isoformat())
    return mail


def _take(at: datetime) -> Mail | None:
    """Mark the next mail that may go as being sent and return it; None when there is none."""
    while True:
        # durable: the mark must be on the disk before the mail server hears of it.
        with transaction.atomic(durable=True):
            waiting = Mail.objects.filter(Q(not_before=None) | Q(not_before__lte=at), state=Mail.State.WAITING)
            if connection.features.has_select_for_update_skip_locked:
                waiting = waiting.select_for_update(skip_locked=True)
            mail = waiting.order_by("id").first()
            if mail is None:
                return None
            marks = {"state": Mail.State.SENDING, "marked_at": at, "attempts": mail.attempts + 1}
            if Mail.objects.filter(pk=mail.pk, state=Mail.State.WAITING).update(**marks):
                for name, value in marks.items():
                    setattr(mail, name, value)
                return mail


def _message(mail: Mail) -> EmailMultiAlternatives:
    address = f'"{_quoted(mail.to_name)}" <{mail.to}>' if mail.to_name else mail.to
    message = EmailMultiAlternatives(
        mail.subject,
        mail.text,
        to=[address],
        headers={"Message-ID": mail.message_id, "Auto-Submitted": "auto-generated"},
    )
    if mail.html:
        message.attach_alternative(mail.html, "text/html")
    if mail.attachment is not None:
        message.attach(mail.attachment_name, bytes(mail.attachment), "application/pdf")
    return message


def _quoted(name: str) -> str:
    return name.replace("\\", "\\\\").replace('"', '\\"')


def _keep(mail: Mail, handed: Handed, at: datetime) -> str:
    """Write down what came of one attempt, unless a person has settled the mail meanwhile; return the state."""
    changes: dict[str, Any] = {"trouble": handed.trouble[:300]}
    outcome = handed.outcome
    if outcome is Outcome.LATER and mail.attempts >= MOST_ATTEMPTS:
        outcome = Outcome.REFUSED
        changes["trouble"] = f"Tried {mail.attempts} times without success. {handed.trouble}"[:300]
    if outcome is Outcome.LATER:
        wait = BACK_OFF[min(mail.attempts, len(BACK_OFF)) - 1]
        changes |= {"state": Mail.State.WAITING, "not_before": at + wait}
    elif outcome is Outcome.SENT:
        changes |= {"state": Mail.State.SENT, "sent_at": at}
    else:
        changes["state"] = Mail.State(outcome.value)
    # A slow attempt may have been put down as uncertain: what is known now is worth more.
    ours = Mail.objects.filter(
        pk=mail.pk, marked_at=mail.marked_at, state__in=[Mail.State.SENDING, Mail.State.UNCERTAIN]
    )
    ours.update(**changes)
    if outcome is not Outcome.SENT:
        log.warning("mail.not_sent", mail=mail.pk, outcome=outcome.value, trouble=changes["trouble"])
    return str(changes["state"])

"""Handing one message to the mail server, and what came of it."""

import contextlib
import smtplib
from dataclasses import dataclass
from enum import Enum
from typing import Any

from django.core.mail import EmailMultiAlternatives, get_connection
from django.core.mail.backends.base import BaseEmailBackend


class Outcome(Enum):
    """What is known after an attempt."""

    SENT = "sent"
    LATER = "later"  # certainly not taken, may be tried again
    REFUSED = "refused"  # certainly not taken, and trying again would not help
    UNCERTAIN = "uncertain"  # the message was under way when the line broke


@dataclass(frozen=True)
class Handed:
    """The outcome of one attempt and, unless it was sent, what stood in the way."""

    outcome: Outcome
    trouble: str = ""


class _Watch:
    """Knows whether the message itself began to travel: before that, a broken line is no doubt."""

    def __init__(self, connection: BaseEmailBackend) -> None:
        # Backends without SMTP (files) have no conversation to watch.
        session = getattr(connection, "connection", None)
        self.on_its_way = False
        if isinstance(session, smtplib.SMTP):
            plain = session.data

            def data(message: Any) -> Any:
                self.on_its_way = True
                return plain(message)

            session.data = data  # type: ignore[method-assign, assignment]


def hand_over(message: EmailMultiAlternatives) -> Handed:
    """Give one message to the mail server the settings name; never raises for what the server or the line does.

    Replies: 4xx may be tried later, 5xx is a refusal (RFC 5321, section 4.2.1). A line that breaks after the
    message began to travel leaves its fate unknown (RFC 5321, section 4.5.3.2.6 and RFC 1047).
    """
    connection = get_connection()
    try:
        connection.open()
    except Exception as error:  # a wrong password too: nothing has gone, and that is what must be kept
        connection.close()
        return Handed(Outcome.LATER, f"The mail server could not be reached: {_words(error)}")
    watch = _Watch(connection)
    message.connection = connection
    try:
        message.send()
        return Handed(Outcome.SENT)
    except smtplib.SMTPRecipientsRefused as error:
        code, words = next(iter(error.recipients.values()))
        return _by_code(code, words)
    except smtplib.SMTPResponseException as error:
        return _by_code(error.smtp_code, error.smtp_error)
    except (smtplib.SMTPException, OSError) as error:
        outcome = Outcome.UNCERTAIN if watch.on_its_way else Outcome.LATER
        return Handed(outcome, f"The line to the mail server broke: {_words(error)}")
    except Exception as error:  # one mail that cannot be put together must not hold up the others
        outcome = Outcome.UNCERTAIN if watch.on_its_way else Outcome.REFUSED
        return Handed(outcome, f"This mail could not be put together: {_words(error)}")
    finally:
        _close(connection)


def _close(connection: BaseEmailBackend) -> None:
    # The answer to the message is known; how the line is put down does not change it.
    with contextlib.suppress(smtplib.SMTPException, OSError):
        connection.close()


def _by_code(code: int, words: bytes | str) -> Handed:
    said = words.decode("utf-8", "replace") if isinstance(words, bytes) else words
    outcome = Outcome.LATER if 400 <= code < 500 else Outcome.REFUSED
    return Handed(outcome, f"The mail server said {code} {said}".strip())


def _words(error: Exception) -> str:
    return str(error) or type(error).__name__

"""A real SMTP server for tests: keeps what it is given, and can be told to refuse, to break off or to hang."""

import asyncio
import email
import email.policy
import threading
from collections import Counter, deque
from email.message import EmailMessage
from typing import Any

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session

_ACCEPTED = "250 OK"


class _OnAnyPort(Controller):
    """aiosmtpd's controller tries its own door after opening it; it must know which port it was given."""

    def _trigger_server(self) -> None:
        assert self.server is not None
        self.port = self.server.sockets[0].getsockname()[1]
        super()._trigger_server()


class Sink:
    """Use as a context: ``port`` to send to, ``mails`` for what arrived.

    ``answers`` are given to the next messages in turn, then 250. "hang" keeps the sender waiting after the whole
    message was handed over, "break" closes the line at that point; nothing is kept in either case. ``at_rcpt``
    are answers to RCPT TO, before there is any message.
    """

    def __init__(self) -> None:
        self.answers: deque[str] = deque()
        self.at_rcpt: deque[str] = deque()
        self.mails: list[EmailMessage] = []
        self.hung = 0
        self._lock = threading.Lock()

    def __enter__(self) -> "Sink":
        self._controller = _OnAnyPort(self, hostname="127.0.0.1", port=0, ready_timeout=20)
        self._controller.start()
        self.port: int = self._controller.port
        return self

    def __exit__(self, *_: Any) -> None:
        self._controller.stop()

    @property
    def url(self) -> str:
        """The sink as EMAIL_URL."""
        return f"smtp://127.0.0.1:{self.port}"

    @property
    def ids(self) -> Counter[str]:
        """How often each Message-ID arrived."""
        with self._lock:
            return Counter(str(mail["Message-ID"]) for mail in self.mails)

    async def handle_RCPT(
        self, server: SMTP, session: Session, envelope: Envelope, address: str, options: list[str]
    ) -> str:
        answer = self.at_rcpt.popleft() if self.at_rcpt else _ACCEPTED
        if answer == _ACCEPTED:
            envelope.rcpt_tos.append(address)
        return answer

    async def handle_DATA(self, server: SMTP, session: Session, envelope: Envelope) -> str:
        answer = self.answers.popleft() if self.answers else _ACCEPTED
        if answer == "hang":
            self.hung += 1
            await asyncio.sleep(30)
            return "451 too late"
        if answer == "break":
            assert server.transport is not None
            server.transport.abort()
            return "451 gone"
        if answer.startswith("250"):
            assert isinstance(envelope.content, bytes)
            mail = email.message_from_bytes(envelope.content, policy=email.policy.default)
            with self._lock:
                self.mails.append(mail)
        return answer

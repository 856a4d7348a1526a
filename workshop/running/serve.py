"""Web and worker together on one machine: what the demo and a small shop run."""

import socket
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from pathlib import Path

from django.conf import settings

from workshop.running.children import Children, python

HOST = "127.0.0.1"
PATIENCE_SECONDS = 60.0


class PortTaken(RuntimeError):
    """Somebody listens at the port already; the message says what to do."""


def serve(port: int = 8000, *, say: Callable[[str], None] = print) -> int:
    """Start web and worker, say the address, and run until Ctrl-C or SIGTERM; return the exit code.

    Raises PortTaken with a sentence, before anything is started, when the port is not free.
    """
    check_port(port)
    address = f"http://{HOST}:{port}"
    children = Children(Path(settings.BASE_DIR), environment={"SITE_URL": address})
    children.stop_on_signals()
    web = python(
        "-m", "gunicorn", "workshop.wsgi", "--bind", f"{HOST}:{port}", "--workers", "2", "--threads", "4",
        "--timeout", "60", "--log-level", "warning",
    )  # fmt: skip
    try:
        children.start("web server", web)
        children.start("worker", python("manage.py", "worker"), again=True)
        if _answers(address, children):
            say(f"Open {address}")
            say("Ctrl-C stops it. Nothing is lost: start it again when you like.")
        ended = children.watch()
    finally:
        children.stop()
    if ended is not None:
        say(f"The {ended.name} ended by itself; the lines above say why. Everything was stopped.")
        return 1
    say("Stopped.")
    return 0


def check_port(port: int) -> None:
    """Raise PortTaken when nothing new can listen at this port, ValueError for a number that is no port."""
    if not 0 < port < 65536:
        raise ValueError(f"{port} is not a port: take a number from 1 to 65535, such as 8000.")
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((HOST, port))
        except OSError as error:
            raise PortTaken(
                f"Port {port} cannot be used ({error.strerror}). If Wrestplank runs already, open "
                f"http://{HOST}:{port}; otherwise choose another port, such as {port + 1}."
            ) from error


def _answers(address: str, children: Children) -> bool:
    """Wait until the web server answers; False when it ended, when nobody wants it any more, or after a minute."""
    until = time.monotonic() + PATIENCE_SECONDS
    web = children.children[0].process
    while time.monotonic() < until and not children.stopping and web is not None and web.poll() is None:
        try:
            urllib.request.urlopen(f"{address}{settings.STATIC_URL}workshop/pin.svg", timeout=5).close()  # noqa: S310
        except urllib.error.HTTPError:
            return True
        except OSError:
            time.sleep(0.1)
        else:
            return True
    return False

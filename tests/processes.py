"""Other processes in tests: their environment, and waiting for what they do."""

import os
import signal
import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings
from django.db import connection


def environment(data: Path, **more: str) -> dict[str, str]:
    """The environment of the real settings on the database of this test, with files in ``data``."""
    database = connection.settings_dict
    if connection.vendor == "sqlite":
        url = f"sqlite:///{database['NAME']}"
    else:
        who = f"{database['USER']}:{database['PASSWORD']}@{database['HOST']}:{database['PORT']}"
        url = f"postgres://{who}/{database['NAME']}"
    given = {name: value for name, value in os.environ.items() if name not in {"BROKER_URL", "EMAIL_URL", "TESTS_DIR"}}
    return {
        **given,
        "DJANGO_SETTINGS_MODULE": "workshop.settings",
        "DATABASE_URL": url,
        "DATA_DIR": str(data),
        "PYTHONPATH": str(settings.BASE_DIR),
        **more,
    }


@contextmanager
def running(command: list[str], env: dict[str, str], log: Path) -> Iterator[subprocess.Popen[bytes]]:
    """Run a program in a session of its own until the block ends; what it said is in ``log``."""
    with log.open("wb") as said:
        process = subprocess.Popen(
            command, env=env, cwd=settings.BASE_DIR, stdout=said, stderr=subprocess.STDOUT, start_new_session=True
        )
        try:
            yield process
        finally:
            if process.poll() is None:
                process.send_signal(signal.SIGTERM)
            try:
                process.wait(timeout=40)
            except subprocess.TimeoutExpired:
                os.killpg(process.pid, signal.SIGKILL)
                process.wait()


def wait_for(what: Callable[[], object], seconds: float, log: Path) -> None:
    """Wait until ``what()`` is true; fail with the log when it takes too long."""
    until = time.monotonic() + seconds
    while not what():
        assert time.monotonic() < until, f"not within {seconds} s:\n{log.read_text(errors='replace')[-4000:]}"
        time.sleep(0.1)

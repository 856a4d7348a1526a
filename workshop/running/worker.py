"""The background worker: does tasks, and looks at the clock."""

import os
from collections.abc import Callable
from pathlib import Path

from django.conf import settings

from workshop.running.children import Children, python

# Two threads: mail goes on while a plan is made.
_TASKS = python(
    "-m", "celery", "-q", "-A", "workshop", "worker", "--pool", "threads", "--concurrency", "2",
    "--without-mingle", "--without-gossip", "--without-heartbeat", "--loglevel", "WARNING",
)  # fmt: skip


def work(*, clock: bool = True, say: Callable[[str], None] = print) -> int:
    """Run until told to stop; return the exit code.

    One worker of a shop has the ``clock``; further ones, on other machines, run without. Ends by itself when the
    process that started it is gone, so that nothing is left running behind a demo that was killed.
    """
    children = Children(Path(settings.BASE_DIR))
    children.stop_on_signals()
    children.start("worker", _TASKS, again=True)
    if clock:
        schedule = Path(settings.DATA_DIR) / "beat"
        children.start(
            "clock",
            python(
                "-m",
                "celery",
                "-q",
                "-A",
                "workshop",
                "beat",
                "-s",
                str(schedule),
                "--pidfile=",
                "--loglevel",
                "WARNING",
            ),
            again=True,
        )
    parent = os.getppid()
    try:
        ended = children.watch(while_true=lambda: os.getppid() == parent)
    finally:
        children.stop()
    if ended is not None:
        say(f"The {ended.name} ended by itself right after it started; the lines above say why.")
        return 1
    return 0

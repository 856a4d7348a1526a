"""Programs that run beside each other and end together."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType

GRACE_SECONDS = 25.0  # for a task or a request in hand; then the program is killed
LOOK_SECONDS = 0.2
QUICK_SECONDS = 5.0  # who ends sooner than this after starting would only end again


@dataclass
class Child:
    """One program: how it is called, whether it is started again when it ends, and the running process."""

    name: str
    command: Sequence[str]
    again: bool = False
    process: subprocess.Popen[bytes] | None = None
    started: float = 0.0


@dataclass
class Children:
    """Starts programs in order, watches them, and stops them all in the end.

    They run in ``folder``; ``environment`` is added to this process's own. Each has a session of its own, so that
    Ctrl-C reaches only this process, which then ends the others in order.
    """

    folder: Path
    environment: Mapping[str, str] = field(default_factory=dict)
    children: list[Child] = field(default_factory=list)
    stopping: bool = False

    def start(self, name: str, command: Sequence[str], *, again: bool = False) -> Child:
        """Start a program; with ``again`` it is started afresh when it ends by itself."""
        child = Child(name, command, again)
        self.children.append(child)
        self._start(child)
        return child

    def stop_on_signals(self) -> None:
        """Take SIGTERM and Ctrl-C as the wish to stop."""
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, self._wish)

    def watch(self, *, while_true: Callable[[], bool] = lambda: True) -> Child | None:
        """Wait until somebody wishes to stop (None), or a child ends that must not (that child)."""
        while not self.stopping and while_true():
            for child in self.children:
                if child.process is None or child.process.poll() is None:
                    continue
                if not child.again or time.monotonic() - child.started < QUICK_SECONDS:
                    return child
                self._start(child)
            time.sleep(LOOK_SECONDS)
        return None

    def stop(self) -> None:
        """Ask all to end, last started first; kill who does not in time."""
        running = [child.process for child in reversed(self.children) if child.process is not None]
        for process in running:
            if process.poll() is None:
                process.terminate()
        until = time.monotonic() + GRACE_SECONDS
        for process in running:
            try:
                process.wait(timeout=max(0.1, until - time.monotonic()))
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()

    def _start(self, child: Child) -> None:
        environment = {**os.environ, **self.environment}
        child.process = subprocess.Popen(list(child.command), env=environment, cwd=self.folder, start_new_session=True)
        child.started = time.monotonic()

    def _wish(self, number: int, frame: FrameType | None) -> None:
        self.stopping = True


def python(*arguments: str) -> list[str]:
    """Return a command of this same Python."""
    return [sys.executable, *arguments]

"""The broker made of files, with whole messages only.

Kombu's own transport opens the file of a message before it writes it, and moves it through the folder for temporary
files, which may be another disk: a reader can meet half a message. Here both steps are one rename (POSIX: atomic).
"""

import os
import time
import uuid
from pathlib import Path
from queue import Empty
from typing import Any

from kombu.transport import filesystem
from kombu.utils.json import dumps, loads


class Channel(filesystem.Channel):
    """Kombu's channel of files, put and taken by renaming."""

    def _put(self, queue: str, payload: dict[str, Any], **kwargs: Any) -> None:  # type: ignore[override]
        name = f"{time.time_ns()}_{uuid.uuid4().hex}.{queue}.msg"
        folder = Path(self.data_folder_out)
        half = folder / f".{name}.half"
        half.write_text(dumps(payload), encoding="utf-8")  # type: ignore[no-untyped-call]
        half.rename(folder / name)

    def _get(self, queue: str, timeout: float | None = None) -> dict[str, Any]:
        for name in sorted(os.listdir(self.data_folder_in)):
            if name.startswith(".") or name.partition(".")[2] != f"{queue}.msg":
                continue
            taken = Path(self.processed_folder) / name
            try:
                Path(self.data_folder_in, name).rename(taken)
            except FileNotFoundError:
                continue  # another reader was quicker
            message: dict[str, Any] = loads(  # type: ignore[no-untyped-call]
                taken.read_text(encoding="utf-8")
            )
            taken.unlink()
            return message
        raise Empty


class Transport(filesystem.Transport):
    """The transport of ``filesystem://``."""

    Channel = Channel

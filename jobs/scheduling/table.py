"""The tasks of a plan as rows for a spreadsheet."""

import csv
from collections.abc import Iterable
from typing import Any

from jobs.scheduling.timelines import Block
from workshop.web.tables import harmless

HEAD = ("Instrument", "Name", "Task", "Stage", "Who", "From", "To", "Hours", "State")


def write_plan(blocks: Iterable[Block], to: Any) -> None:
    """Write one row a task into a file: local moments as ISO 8601, hours as a number."""
    to.write("\ufeff")  # tells spreadsheets that it is UTF-8
    writer = csv.writer(to)
    writer.writerow(HEAD)
    for block in blocks:
        instrument = block.task.job.instrument
        row = (
            instrument.number,
            instrument.words,
            block.task.name,
            block.task.get_stage_display(),
            block.person,
            block.starts.isoformat(sep=" ", timespec="minutes"),
            block.ends.isoformat(sep=" ", timespec="minutes"),
            f"{block.hours:g}",
            block.state_words,
        )
        writer.writerow([harmless(cell) for cell in row])

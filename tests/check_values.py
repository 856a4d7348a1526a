"""The table of numbers from outside the project, each with its source, tolerance and how far it was verified.

``check_values.csv``: inputs and expected values are JSON; the status is "verified" (read in the source),
"published, from memory" (not read again), or "computed here from the stated formula".
"""

import csv
import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any


@dataclass(frozen=True)
class CheckValue:
    id: str
    topic: str
    inputs: dict[str, Any]
    expected: Any
    tolerance: float
    status: str
    source: str


@cache
def check_values() -> tuple[CheckValue, ...]:
    with (Path(__file__).parent / "check_values.csv").open(encoding="utf-8", newline="") as table:
        return tuple(
            CheckValue(
                id=row["id"],
                topic=row["topic"],
                inputs=json.loads(row["inputs"]),
                expected=json.loads(row["expected"]),
                tolerance=float(row["tolerance"]),
                status=row["status"],
                source=row["source"],
            )
            for row in csv.DictReader(table)
        )

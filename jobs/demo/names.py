"""Reading the invented rows of ``fixtures/demo``."""

import csv
from pathlib import Path

from django.conf import settings

FOLDER = Path(settings.BASE_DIR) / "fixtures" / "demo"

MAKERS = (
    "Larkwhistle",
    "Marchpane",
    "Emberquist",
    "Brundlehof",
    "Cobblewright",
    "Fennimoor",
    "Hollowby",
    "Peverwell",
    "Quillory",
    "Ashgrave",
    "Tithe & Gossamer",
)


def rows(name: str) -> list[dict[str, str]]:
    """Return the rows of one file, its comment lines left out."""
    with (FOLDER / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))

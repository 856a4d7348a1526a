"""Load the reference data: skills, operations, parts, measures, ranges, wire."""

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction

from jobs.assessment.measure_load import measures_load
from jobs.operations.reference import read_reference
from jobs.operations.reference_table import ReferenceRefused
from jobs.operations.services import reference_load


class Command(BaseCommand):
    """Reads every file, checks all of it, then writes in one transaction."""

    help = (
        "Load skills, operations, parts, measures, ranges and wire. Run it again after an update: it repeats nothing."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the folder to read."""
        parser.add_argument("--folder", type=Path, default=Path(settings.BASE_DIR) / "fixtures" / "reference")

    def handle(self, *args: Any, **options: Any) -> None:
        """Load, or say every fault and load nothing."""
        try:
            reference = read_reference(options["folder"])
        except ReferenceRefused as refused:
            told = "\n".join(map(str, refused.faults))
            raise CommandError(f"Nothing was loaded. Mend these and run it again:\n{told}") from refused
        with transaction.atomic():
            work = reference_load(reference=reference)
            measures = measures_load(reference=reference)
        self.stdout.write(f"Operations, parts and wire: {work.words()}.")
        self.stdout.write(f"Measures and ranges: {measures.words()}.")

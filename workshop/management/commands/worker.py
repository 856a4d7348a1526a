"""manage.py worker: the background work of the house."""

import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from workshop.running.worker import work


class Command(BaseCommand):
    """Runs the worker until it is told to stop."""

    help = "Do the background work: send mail, make plans. Runs until Ctrl-C or SIGTERM."

    def add_arguments(self, parser: CommandParser) -> None:
        """Take --no-clock for every worker of a shop but one."""
        parser.add_argument(
            "--no-clock", action="store_true", help="for further workers: one is enough to mind the clock"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Run."""
        sys.exit(work(clock=not options["no_clock"], say=self.stderr.write))

"""manage.py serve: web and worker together."""

import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from workshop.running.serve import PortTaken, serve


class Command(BaseCommand):
    """Runs web and worker until told to stop."""

    help = "Start web and worker on this machine. Runs until Ctrl-C or SIGTERM."

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the port."""
        parser.add_argument("--port", type=int, default=8000)

    def handle(self, *args: Any, **options: Any) -> None:
        """Run."""
        try:
            code = serve(options["port"], say=self.stdout.write)
        except (PortTaken, ValueError) as error:
            raise CommandError(str(error)) from error
        sys.exit(code)

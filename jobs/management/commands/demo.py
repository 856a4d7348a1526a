"""The demo shop: migrate, load the reference data, build, and open the house."""

import argparse
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from django.utils import timezone

from jobs.assessment.models import Photograph
from jobs.demo.build import demo_build
from jobs.demo.people import PASSWORD, STAFF
from workshop.people.models import Person
from workshop.running.serve import PortTaken, check_port, serve


class Command(BaseCommand):
    """Build the demo shop if it is not there, then start web and worker."""

    help = "Build an invented workshop in the middle of its work and open it in the browser."

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Say what can be asked for."""
        parser.add_argument("--fresh", action="store_true", help="throw the demo away and build it anew")
        parser.add_argument("--no-serve", action="store_true", help="only build")
        parser.add_argument("--port", type=int, default=8000, help="where the house opens (8000)")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run the command; safe to run again."""
        if not options["no_serve"]:
            self._check(options["port"])
        call_command("migrate", verbosity=0)
        if options["fresh"]:
            self._clear()
        if Person.objects.exists():
            self.stdout.write("The shop is there already; --fresh starts over.")
        else:
            self.stdout.write("Building the demo shop:")
            call_command("load_reference", stdout=self.stdout)
            demo_build(at=timezone.now(), say=lambda words: self.stdout.write(f"  {words}"))
        self._say_who()
        if not options["no_serve"]:
            self._serve(options["port"])

    def _check(self, port: int) -> None:
        try:
            check_port(port)
        except (PortTaken, ValueError) as error:
            raise CommandError(str(error)) from error

    def _clear(self) -> None:
        """Empty the demo's own database. Refuses where it is not the embedded one: that may be a real shop."""
        if connection.vendor != "sqlite" or settings.PRODUCTION:
            raise CommandError(
                "--fresh empties the whole database, so it only works on the embedded one. "
                "Empty this database by hand if that is really wanted."
            )
        people = set(Person.objects.values_list("username", flat=True))
        if people and people != {name.lower() for name, *_ in STAFF}:
            raise CommandError("There are people here who do not belong to the demo: this may be a real shop. Stopped.")
        for photograph in Photograph.objects.all():
            photograph.image.delete(save=False)
        call_command("flush", interactive=False, verbosity=0)

    def _say_who(self) -> None:
        self.stdout.write(f"Sign in as tamsin (manager) or corin (technician); the password of both is: {PASSWORD}")

    def _serve(self, port: int) -> None:
        call_command("collectstatic", interactive=False, verbosity=0)
        code = serve(port, say=self.stdout.write)
        if code:
            raise CommandError("The house closed by itself.", returncode=code)

"""Standard project files solved, one JSON line each."""

import argparse
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from jobs.scheduling.calc.solve.standard import solve_project, warm_up
from jobs.scheduling.calc.standard import UnreadableProject, project_read

SUFFIXES = {".sm", ".rcp", ".txt", ".pat", ".dat"}


class Command(BaseCommand):
    """Plan standard files and print what was reached."""

    help = (
        "Find short schedules for standard project files (PSPLIB .sm or Patterson text, told apart by content). "
        "Prints one JSON line per file: instance, makespan, bound, seconds, proved."
    )

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Say what can be asked for."""
        parser.add_argument("files", nargs="+", metavar="FILE", help="a file, or a folder of files")
        parser.add_argument("--seconds", type=float, default=5.0, help="time for each file (5)")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run the command. A file that cannot be read is named; the others are planned all the same."""
        if not 0 < options["seconds"] < 1e6:
            raise CommandError("--seconds must be above nought and below a million.")
        warm_up()
        bad = good = 0
        for path in options["files"]:
            for text, file in self._texts(Path(path)):
                try:
                    if text is None:
                        raise UnreadableProject("there is no project file here.")
                    self._solve(text, file, options["seconds"])
                    good += 1
                except UnreadableProject as error:
                    self.stderr.write(f"{file}, {error}" if error.line else f"{file}: {error}")
                    bad += 1
        if bad:
            raise CommandError(f"{bad} of {bad + good} files could not be planned; see above.")

    def _texts(self, path: Path) -> Iterator[tuple[str | None, Path]]:
        """The files of a path with their text; None for what is not there or cannot be opened."""
        files = [path]
        if path.is_dir():
            files = sorted(one for one in path.rglob("*") if one.suffix.lower() in SUFFIXES and one.is_file()) or [path]
        for file in files:
            try:
                yield file.read_bytes().decode("utf-8", errors="replace"), file
            except OSError:
                yield None, file

    def _solve(self, text: str, file: Path, seconds: float) -> None:
        project = project_read(text, file.name)
        found = solve_project(project, seconds)
        answer = {
            "instance": project.name,
            "makespan": found.makespan,
            "bound": found.bound,
            "seconds": round(found.seconds, 3),
            "proved": found.proved,
        }
        self.stdout.write(json.dumps(answer))
        self.stdout.flush()

"""``manage.py plan_file PROBLEM.json SOLUTION.json --seconds S``: plan a problem file."""

import argparse
import os
import tempfile
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from jobs.scheduling.calc.plan import PlanRefused, plan_again
from jobs.scheduling.calc.plan import plan as plan_of
from jobs.scheduling.calc.problem import day_text
from jobs.scheduling.calc.problem_file import UnreadableFile, problem_read
from jobs.scheduling.calc.solution import solution_write
from jobs.scheduling.calc.solve import is_warm, near_operations, warm_up


class Command(BaseCommand):
    """Read a problem, plan it, check the plan, write it."""

    requires_system_checks = ()  # no database, no pages: they take longer to load than a small plan to make
    help = "Plan a problem file and write the plan found, after checking that it keeps every rule."

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Two files, and how long it may take."""
        parser.add_argument("problem", help="the problem file to read (JSON)")
        parser.add_argument("solution", help="the file to write the plan to; one that is there is replaced")
        parser.add_argument("seconds_given", nargs="?", type=float, metavar="SECONDS", help="the same as --seconds")
        parser.add_argument("--seconds", type=float, default=5.0, help="time to search, 5 unless told otherwise")

    def handle(self, *args: Any, **options: Any) -> None:
        """Raise CommandError with a sentence that names the file, the entry and what to change."""
        source, target = Path(options["problem"]), Path(options["solution"])
        seconds = options["seconds_given"] if options["seconds_given"] is not None else options["seconds"]
        if not 0 < seconds < float("inf"):
            raise CommandError(f"{seconds:g} seconds is no time to plan in: give more than 0, such as --seconds 5.")
        if not target.resolve().parent.is_dir():
            raise CommandError(
                f"There is no folder {target.resolve().parent} to write {target.name} into: make it first."
            )
        try:
            problem = problem_read(source.read_text(encoding="utf-8"))
            self._compile()
            moved = ""
            if near_operations(problem):
                calm = plan_again(problem, seconds=seconds)[-1]
                solution = calm.solution
                moved = f", {calm.moved} of {calm.near} near starts moved"
            else:
                solution = plan_of(problem, seconds=seconds)
        except OSError as error:
            raise CommandError(f"{source} cannot be read: {error.strerror or error}.") from error
        except UnicodeDecodeError as error:
            raise CommandError(f"{source} is not text in UTF-8: save it as UTF-8.") from error
        except UnreadableFile as error:
            raise CommandError(f"{source}: {error}") from error
        except PlanRefused as error:
            raise CommandError(f"{source}: {error}") from error
        _write(target, solution_write(solution))
        late = solution.days_late(problem)
        end = solution.last_end()
        ends = f", last end {day_text(end)}" if end else ""
        self.stdout.write(
            f"{problem.name}: {solution.weighted_days_late(problem):g} weighted days late,"
            f" {len(late)} of {len(problem.jobs)} jobs late{ends}{moved}; {solution.word}"
        )

    def _compile(self) -> None:
        """Have the compiled planner at hand; say so where it must be compiled first, once for an installation."""
        if not is_warm():
            self.stderr.write("The planner is compiled now, once for this installation: about half a minute.")
        warm_up()


def _write(target: Path, text: str) -> None:
    """Write the whole file or nothing."""
    try:
        handle, half = tempfile.mkstemp(dir=target.resolve().parent, prefix=f".{target.name}.")
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
        Path(half).chmod(0o644)
        Path(half).replace(target)
    except OSError as error:
        raise CommandError(f"{target} cannot be written: {error.strerror or error}.") from error

"""Forecast hours of tasks and quotes from files, with the learner that quotes use.

The constants come with the command, because other work spreads otherwise than a workshop's: see ``--help``.
"""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs.estimating.calc.bundle import Calibration
from jobs.estimating.calc.learner import Constants, Level
from jobs.estimating.forecast_files import MARKS, FilesRefused, forecast_write

# Tuned by replaying recorded task hours of four other houses (another trade, its spread is twice a workshop's)
# inside the part that was open for it; nothing here is used for the workshop's own quotes.
LEVELS = ("shop:8:0.7", "technician:15:0.5", "kind:15:0.5", "job:5:0.5", "kind+technician:7:0.5")
SIGMA0, HALF_LIFE, CLIP, TAU, LAST, PRIOR = 0.6, 270.0, 2.0, 0.27, 40, 50.0


def level(text: str) -> Level:
    """Return a level of piles from ``shares:kappa`` or ``shares:kappa:width``. Raises ValueError."""
    names, kappa, *width = text.split(":")
    shares = () if names == "shop" else tuple(names.split("+"))
    if not set(shares) <= set(MARKS) or len(width) > 1 or not float(kappa) > 0:
        raise ValueError(f"“{text}” is no level: kind+technician:10 or kind:10:0.5, of {', '.join(MARKS)}.")
    return Level(shares, float(kappa), float(width[0]) if width and float(width[0]) > 0 else None)


class Command(BaseCommand):
    """Reads history.csv, ask.csv, quotes.csv, past_quotes.csv, origin.txt of a folder; writes its out.csv."""

    help = "Forecast hours of tasks and quotes from the files of a folder; writes out.csv there. Needs no database."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the folder and the constants."""
        parser.add_argument("folder", type=Path)
        parser.add_argument("--sigma0", type=float, default=SIGMA0, help="spread of ln(hours/norm) before any log")
        parser.add_argument("--half-life", type=float, default=HALF_LIFE, help="days after which a log counts half")
        parser.add_argument("--clip", type=float, default=CLIP, help="reach of the limits for entries far off")
        parser.add_argument(
            "--levels", nargs="+", default=LEVELS, help="piles from the shop down, what they share:kappa[:width]"
        )
        parser.add_argument("--tau", type=float, default=TAU, help="spread that tasks of one quote share")
        parser.add_argument("--last", type=int, default=LAST, help="finished quotes that calibrate")
        parser.add_argument("--prior", type=float, default=PRIOR, help="weight of the normal points beside them")

    def handle(self, *args: Any, **options: Any) -> None:
        """Forecast, or say what is wrong and write nothing."""
        try:
            constants = Constants(
                options["sigma0"], options["half_life"], options["clip"], tuple(map(level, options["levels"]))
            )
            calibration = Calibration(options["tau"], options["last"], options["prior"])
            rows = forecast_write(options["folder"], constants, calibration)
        except (FilesRefused, ValueError) as error:
            raise CommandError(str(error)) from error
        if options["verbosity"] > 1:
            self.stdout.write(f"{rows} forecasts written.")

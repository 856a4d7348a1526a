"""Forecast hours of tasks and quotes from files, with the learner that quotes use.

The constants come with the command, because other work spreads otherwise than a workshop's: see ``--help``.
"""

import math
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs.estimating.calc.bundle import Calibration
from jobs.estimating.calc.learner import Constants, Level
from jobs.estimating.forecast_files import MARKS, FilesRefused, forecast_write

# Tuned by replaying recorded task hours of four other houses (another trade, its spread is twice a workshop's)
# inside the part that was open for it; nothing here is used for the workshop's own quotes.
LEVELS = ("shop:8:0.7", "kind:30:0.5", "technician:20:0.7:kind", "job:8:1.2:kind", "kind+technician:7:0.5")
SIGMA0, HALF_LIFE, CLIP, TAU, LAST, PRIOR, LIFT = 0.6, 200.0, 2.0, 0.27, 40, 200.0, 0.375


def level(text: str) -> Level:
    """Return a level of piles from ``shares:kappa[:width[:apart]]``, width 0 for none. Raises ValueError."""
    fields = text.split(":")
    try:
        shares, kappa, width, apart = fields + ["", "0", "0", ""][len(fields) :]
        found = Level(_names(shares), float(kappa), float(width) or None, _names(apart))
        if not (0 < found.kappa < math.inf and 0 <= (found.width or 0) < math.inf):
            raise ValueError(text)
    except ValueError as error:
        known = f"kind:10, kind+technician:10:0.5 or job:8:0:kind, of {', '.join(MARKS)}"
        raise ValueError(f"“{text}” is no level: {known}.") from error
    return found


def _names(text: str) -> tuple[str, ...]:
    names = () if text in ("", "shop") else tuple(text.split("+"))
    if not set(names) <= set(MARKS):
        raise ValueError(text)
    return names


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
            "--levels",
            nargs="+",
            default=LEVELS,
            help="piles from the shop down, what they share:kappa[:width[:apart]]",
        )
        parser.add_argument("--tau", type=float, default=TAU, help="spread that tasks of one quote share")
        parser.add_argument("--last", type=int, default=LAST, help="finished quotes that calibrate")
        parser.add_argument("--lift", type=float, default=LIFT, help="of a squared spread, what lifts the likely sum")
        parser.add_argument("--prior", type=float, default=PRIOR, help="weight of the normal points beside them")

    def handle(self, *args: Any, **options: Any) -> None:
        """Forecast, or say what is wrong and write nothing."""
        try:
            constants = Constants(
                options["sigma0"], options["half_life"], options["clip"], tuple(map(level, options["levels"]))
            )
            calibration = Calibration(options["tau"], options["last"], options["prior"], options["lift"])
            written = forecast_write(options["folder"], constants, calibration)
        except (FilesRefused, ValueError) as error:
            raise CommandError(str(error)) from error
        if written.left_out:
            many = f"{len(written.left_out)} rows, the first" if len(written.left_out) > 1 else "one row,"
            self.stderr.write(f"Left out {many} {written.left_out[0]}: a cell that is needed is blank or nought.")
        if options["verbosity"] > 1:
            self.stdout.write(f"{written.rows} forecasts written.")

"""Compiled code on disk: whether it is there, and making it, so that no page ever waits for the compiler.

Compiled code is kept beside the source, or in the folder NUMBA_CACHE_DIR names; the settings point that into the
data folder, so a read-only installation works too. numba notices a changed source file only for the function it was
asked for, not for those inlined into it: so each version of the sources has a folder of its own.
"""

import hashlib
import os
import platform
import sys
from datetime import date, time
from importlib.metadata import version
from pathlib import Path
from time import sleep
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jobs.scheduling.calc.solve.builder import Choice
    from jobs.scheduling.calc.solve.search import Search

COMPILED = Path(__file__).parent / "compiled"
BESIDE = tuple(Path(__file__).parent / name for name in ("replay", "standard"))
"""Packages with compiled code of their own; all that is compiled shares one folder."""
FOLDER = "NUMBA_CACHE_DIR"
_root = os.environ.get(FOLDER, "")


def _stamp() -> str:
    """One name for these sources, this numba, this Python and this kind of machine.

    The time a file was written counts too, because numba compiles again when it differs.
    """
    seen = hashlib.sha256()
    for source in sorted(source for folder in (COMPILED, *BESIDE) for source in folder.glob("*.py")):
        seen.update(source.read_bytes() + str(source.stat().st_mtime_ns).encode())
    seen.update(f"{version('numba')} {sys.version} {platform.machine()} {platform.processor()}".encode())
    return seen.hexdigest()[:16]


def _folder() -> Path:
    return Path(_root) if _root else COMPILED / "__pycache__"


def _marker() -> Path:
    return _folder() / f"ready-{_stamp()}"


def use_own_folder() -> None:
    """Let numba keep what it compiles for these sources apart from older ones. Called before anything is compiled."""
    from numba.core import config

    setattr(config, "CACHE_DIR", str(_folder() / _stamp()))  # noqa: B010 - numba makes its names at import


def is_warm() -> bool:
    """Whether the compiled scheduler can be had without compiling."""
    return _marker().exists()


def warm_up() -> None:
    """Compile scheduler and replay, or load them, by planning one task and one future of it; later calls are quick."""
    from jobs.scheduling.calc.draws import Uncertainty
    from jobs.scheduling.calc.futures import futures
    from jobs.scheduling.calc.problem import Job, Operation, Places, Problem, Technician
    from jobs.scheduling.calc.solve.priorities import RULES
    from jobs.scheduling.calc.solve.search import Search

    task = Operation("a", "a", 1, "a")
    people = (Technician("a", ("a",)),)
    monday = date(2027, 1, 4)
    problem = Problem("warm", monday, time(8), time(16), people, Places(1, 1, 1), (Job("a"),), (task,))
    search = Search(problem)
    search.try_rules(RULES[:1])
    if search.kept:
        _compile_annealing(search, search.kept.choice)
        plan = search.prepared.solution(search.kept.starts.tolist(), search.kept.people.tolist(), "")
        futures(problem, plan, Uncertainty(), number=2)
    marker = _marker()
    try:
        marker.parent.mkdir(parents=True, exist_ok=True)
        marker.touch()
    except OSError:
        return  # nothing can be kept here; each process compiles for itself, in the background


def _compile_annealing(search: "Search", choice: "Choice") -> None:
    """What only annealing calls: from when on a change matters, and taking over a schedule that joins the present."""
    from random import Random

    from jobs.scheduling.calc.solve.builder import Builder
    from jobs.scheduling.calc.solve.moves import Moves

    builder, moves = Builder(search.shop), Moves(search.prepared, search.shop, Random(0))
    builder.stand_at(choice)
    moves.look_at(builder)
    moves.first_change(choice, moves.shift(choice, 0, late=False))
    builder.joined = True
    builder.accept(-1, 0.0)


def warm_up_when_compiled(*, look_seconds: float = 5, times: int = 120) -> bool:
    """Load the scheduler once somebody else has compiled it; False when nobody did while this looked."""
    for _ in range(times):
        if is_warm():
            warm_up()
            return True
        sleep(look_seconds)
    return False

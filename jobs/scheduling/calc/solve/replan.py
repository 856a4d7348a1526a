"""Planning again calmly: near starts and technicians stay unless moving them pays.

Each near operation gets a pin that reserves its technician and place and breaks when it cannot be kept; the search
toggles pins together with the priorities, so every schedule is a valid plan and the moves fall out of it. First the
least number of moves is looked for, then the least lateness within a few moves more.
"""

from collections.abc import Callable
from dataclasses import replace

from jobs.scheduling.calc.problem import Previous, Problem
from jobs.scheduling.calc.solve.builder import Budget, Kept
from jobs.scheduling.calc.solve.compiled.tables import Pin
from jobs.scheduling.calc.solve.near import Point, near_moved, near_operations
from jobs.scheduling.calc.solve.prepared import Prepared
from jobs.scheduling.calc.solve.priorities import RULES
from jobs.scheduling.calc.solve.progress import Progress
from jobs.scheduling.calc.solve.search import SEED, Search

STEEP, EACH = 30.0, 0.5
"""What a near move costs beyond the budget, and within it, in weighted days late."""
MORE_SHARE = 0.04
"""The flat part of the curve begins about four points above the fewest moves, as prototypes measured."""
MOST_SHARE = 0.25
"""Beyond this share of the near operations more moves gain nothing (there): the calm way stays within it if it can."""
FEWEST_SHARE = 0.25
"""Share of the time spent on finding how few moves will do."""


def pins_of(prepared: Prepared) -> list[Pin]:
    """A pin for each near operation that its own calendar, skills and parts still allow."""
    problem = prepared.problem
    people = {technician.id: number for number, technician in enumerate(problem.technicians)}
    pins = []
    for operation in near_operations(problem):
        old, number = problem.previous[operation.id], prepared.number_of[operation.id]
        who = people.get(old.technician)
        if who is None or operation.fixed or who not in prepared.able.get(operation.skill, []):
            continue
        pin = _pin(prepared, number, who, old)
        if pin is not None:
            pins.append(pin)
    return pins


def _pin(prepared: Prepared, number: int, who: int, old: Previous) -> Pin | None:
    time, own, piece = prepared.time, prepared.own[who], prepared.first_piece[number]
    first = old.stints[0].start
    start, slots = time.position(first), prepared.piece_slots[piece]
    if (
        start >= time.end
        or time.clock(start // time.day, start % time.day) != first
        or start < prepared.earliest[number]
    ):
        return None
    in_sessions = prepared.problem.operations[number].sessions > 1
    if not own.working[start // time.day] or (in_sessions and start % time.day + slots > time.day):
        return None
    return Pin(piece, who, start, time.work_end(own, start, slots))


def replan(
    problem: Problem,
    *,
    seconds: float,
    free: bool = False,
    progress: Callable[[Progress], bool] | None = None,
    seed: int = SEED,
) -> list[Point]:
    """Ways to plan again, from the calmest to the earliest: fewest moves, a few more, and with ``free`` no thought of
    moves. Unchecked; a way that no schedule was found for is left out.

    ``seconds``: for all of them. The first schedule is there in a fraction of a second (``progress`` is told), and
    ``progress`` may return False to stop with what is there.
    """
    prepared = Prepared(problem)
    search = Search(problem, prepared=prepared, pins=pins_of(prepared), budget=Budget(0, STEEP, EACH), report=progress)
    search.seed = seed
    share = 0.75 if free else 1.0
    points = []
    fewest = _look(search, None, seconds * FEWEST_SHARE * share)
    if fewest:
        points.append(_point("fewest moves", search, fewest))
        near = len(near_operations(problem))
        budget = fewest.moved + max(3, round(MORE_SHARE * near))
        search.budget = Budget(max(fewest.moved, min(budget, int(MOST_SHARE * near))), STEEP, EACH)
        calm = _look(search, fewest, seconds * share)
        if calm:
            points.append(_point("calm", search, calm))
    if free:
        search.budget = None
        earliest = _look(search, None, seconds, pinned=False)
        if earliest:
            points.append(_point("earliest", search, earliest))
    return points


def _look(search: Search, first: Kept | None, until: float, *, pinned: bool = True) -> Kept | None:
    """The best within the search's budget at a moment."""
    search.kept, search.starts = None, []
    if first:
        search.start(first.choice, first.name)
    search.try_rules(RULES, pinned=pinned)
    search.try_present_plan(pinned=pinned)
    search.improve(until=until)
    return search.kept


def _point(name: str, search: Search, kept: Kept) -> Point:
    problem, prepared = search.prepared.problem, search.prepared
    solution = prepared.solution(kept.starts.tolist(), kept.people.tolist(), name)
    solution = replace(solution, seconds=search.seconds)
    return Point(name, near_moved(problem, solution), len(near_operations(problem)), solution)

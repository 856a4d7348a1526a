"""Planning again calmly: near starts and technicians stay unless moving them pays.

Each near operation gets a pin that reserves its technician and place and breaks when it cannot be kept; the search
toggles pins together with the priorities, so every schedule is a valid plan and the moves fall out of it. First the
least number of moves is looked for, then the least lateness within a few moves more.
"""

import time
from collections.abc import Callable
from dataclasses import replace

from jobs.scheduling.calc.problem import Previous, Problem
from jobs.scheduling.calc.solve.builder import Budget, Choice, Kept
from jobs.scheduling.calc.solve.compiled.tables import Pin
from jobs.scheduling.calc.solve.near import Point, near_moved, near_operations
from jobs.scheduling.calc.solve.prepared import Prepared
from jobs.scheduling.calc.solve.priorities import GRID, RULES
from jobs.scheduling.calc.solve.progress import Progress
from jobs.scheduling.calc.solve.search import SEED, Search

STEEP, EACH = 30.0, 0.5
"""What a near move costs beyond the budget, and within it, in weighted days late."""
MORE_SHARE = 0.04
"""The flat part of the curve begins about four points above the fewest moves, as prototypes measured."""
MOST_SHARE = 0.24
"""The calm way moves no more than this share of the near operations if it can: a quarter, at which people stop
bearing it, is not touched."""
LEAST_MORE = 3
"""Moves above the fewest the calm way may make in any case: fewer leave the search no room, as prototypes measured."""
FREE_SHARE, FEWEST_SHARE = 0.1, 0.15
"""Shares of the time for how early it could be without a thought of moves, and for how few moves will do."""
FREE_ASKED_SHARE = 0.3
"""The first of these when the earliest way is asked for."""


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
    moves. Unchecked. Empty only when no order of work can be found at all.

    The earliest way is never later than the best simple rule of the same run, nor than a calmer way. The calm ways
    may be: they give up lateness for keeping what people were told.

    ``seconds``: for all of them. The first schedule is there in a fraction of a second (``progress`` is told), and
    ``progress`` may return False to stop with what is there; each way is then at least the best of the rules.
    """
    begun = time.monotonic()
    prepared = Prepared(problem)
    budget = Budget(0, STEEP, EACH)
    search = Search(
        problem, prepared=prepared, pins=pins_of(prepared), budget=budget, report=progress, seed=seed, begun=begun
    )
    near = len(near_operations(problem))
    _build_rules(search)  # what is told of while something earlier is looked for: the plan to come is one of these
    search.shown = search.kept
    share = FREE_ASKED_SHARE if free else FREE_SHARE
    earliest = _look(search, None, [], seconds * share)
    if earliest is None:
        return []
    search.shown = None
    pinned = search.choice(earliest.choice.priority.tolist(), pinned=True)
    fewest = _look(search, budget, [pinned], seconds * (share + FEWEST_SHARE)) or earliest
    budget = calm_budget(fewest.moved, near, earliest.days_late)
    calm = _look(search, budget, [fewest.choice, pinned], seconds) or earliest
    ways = [("fewest moves", min((fewest, calm), key=_moves)), ("calm", calm)]
    if free:
        ways.append(("earliest", min((earliest, calm, fewest), key=_lateness)))
    return [_point(name, search, kept) for name, kept in ways]


def calm_budget(fewest: int, near: int, days_late: float) -> Budget:
    """How many of the near operations the calm way may move when ``fewest`` will do, and what a move must gain.

    About four points more than the fewest are free; from there to the most that people bear, a further hundredth of
    the near operations moved must save a hundredth of ``days_late``, the lateness without a thought of moves.
    """
    most = max(fewest, int(MOST_SHARE * near))
    few = min(most, fewest + max(LEAST_MORE, round(MORE_SHARE * near)))
    return Budget(most, STEEP, EACH, few, max(EACH, days_late / near) if near else 0.0)


def _build_rules(search: Search) -> None:
    """The schedules of the simple rules and of the plan in force with all pins; without any if those lead nowhere."""
    for pinned in (True, False):
        search.try_rules(RULES, pinned=pinned)
        search.try_present_plan(pinned=pinned)
        if search.kept:
            return


def _look(search: Search, budget: Budget | None, first: list[Choice], until: float) -> Kept | None:
    """The best within a budget at a moment, without pins where there is none; None when no rule leads to a schedule."""
    search.begin_afresh(budget)
    for choice in first:
        search.start(choice, "search")
    if budget:
        _build_rules(search)
        if not search.stopped:
            search.try_rules(GRID, pinned=True)
    else:
        search.try_rules(RULES)
        search.try_present_plan()
    search.improve(until=until)
    return search.kept


def _moves(kept: Kept) -> tuple[float, ...]:
    """Appointments missed, near operations moved, then how late."""
    return kept.score[0], kept.moved, kept.days_late, kept.score[3]


def _lateness(kept: Kept) -> tuple[float, float, float]:
    """Appointments missed, weighted days late, last end."""
    return kept.score[0], kept.days_late, kept.score[3]


def _point(name: str, search: Search, kept: Kept) -> Point:
    problem, prepared = search.prepared.problem, search.prepared
    solution = prepared.solution(kept.starts.tolist(), kept.people.tolist(), name)
    solution = replace(solution, seconds=search.seconds)
    return Point(name, near_moved(problem, solution), len(near_operations(problem)), solution)

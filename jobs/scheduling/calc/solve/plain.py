"""The best of the simple rules in plain Python: for a page that must answer before the compiled scheduler is there."""

from collections.abc import Sequence

from jobs.scheduling.calc.solution import Solution
from jobs.scheduling.calc.solve.list_schedule import ListScheduler, NothingCanStart, Schedule
from jobs.scheduling.calc.solve.prepared import Prepared
from jobs.scheduling.calc.solve.priorities import Rule, priorities


def best_of_rules(prepared: Prepared, rules: Sequence[Rule]) -> Solution | None:
    """The best plan the rules lead to: fewest appointments missed, then the objective. None when nothing can start."""
    best: tuple[tuple[object, ...], Solution] | None = None
    for cautious in (False, True):
        for rule in rules:
            try:
                found: Schedule = ListScheduler(prepared, priorities(prepared, rule), cautious=cautious).run()
            except NothingCanStart:
                continue
            solution = prepared.solution(found.starts, found.people, rule.name)
            score = (found.broken_appointments, *solution.objective(prepared.problem))
            if best is None or score < best[0]:
                best = score, solution
        if best is not None and not best[0][0]:
            break
    return best[1] if best else None

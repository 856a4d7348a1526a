"""What simulated futures say of a plan's dates, kept with it: chances, what decides how often, what would help."""

from typing import Any

from jobs.scheduling.calc.futures import Cause, Futures, Outlook, Share, futures
from jobs.scheduling.calc.one_change import Change, Help, changes
from jobs.scheduling.calc.problem import BENCH, FLOOR, SPRAY, Problem
from jobs.scheduling.house import House, solution_of, uncertainty_of
from jobs.scheduling.house.names import OWN, job_key
from jobs.scheduling.models import JobEnd, Plan
from jobs.scheduling.timelines.draw import short

PLACE_WORDS = {BENCH: "a bench", SPRAY: "the spray room", FLOOR: "a floor place"}
MORE_WORDS = {BENCH: "one more bench", SPRAY: "a second spray place", FLOOR: "one more floor place"}
KINDS = {
    Cause.PERSON: JobEnd.Decider.PERSON,
    Cause.PLACE: JobEnd.Decider.PLACE,
    Cause.PART: JobEnd.Decider.PART,
    Cause.DAY: JobEnd.Decider.WAIT,
    Cause.WAIT: JobEnd.Decider.WAIT,
    Cause.WORK: JobEnd.Decider.WORK,
}
SURE = 0.8
FIELDS = ("day_50", "day_80", "day_90", "likely_ends", "shares", "help_words", "help_days")


def outlook_add(plan: Plan, house: House, problem: Problem, *, may_compile: bool) -> None:
    """Try a plan's dates in simulated futures and keep what they say with its jobs.

    ``problem`` is the one the plan was made for. A plan that was thrown away meanwhile is left alone. ``may_compile``
    False: where the compiled replay is not there yet, fewer futures are tried without it, and neither what decides
    nor what would help is told.
    """
    solution = solution_of(plan)
    if not solution.operations or any(one.id not in solution.operations for one in problem.operations):
        return
    uncertainty = uncertainty_of(house)
    found = futures(problem, solution, uncertainty, may_compile=may_compile)
    told = {name: found.outlook(name) for name in found.jobs}
    own = {skill for person in problem.technicians for skill in person.skills if skill.startswith(OWN)}
    helps = changes(found, uncertainty, _most_in_need(found, told), never=own)
    ends = list(plan.ends.all())
    for end in ends:
        name = job_key(end.job_id)
        if name in told:
            for field, value in _fields(house, told[name], helps).items():
                setattr(end, field, value)
    JobEnd.objects.bulk_update(ends, FIELDS)


def _most_in_need(found: Futures, told: dict[str, Outlook]) -> list[str]:
    """Return the jobs for which help is sought first: promises that are not sure, the least sure first; then others."""

    def rank(name: str) -> tuple[int, float]:
        chance = told[name].chance
        if chance is None:
            return (1, -told[name].day_80.toordinal())
        return (0, chance) if chance < SURE else (2, chance)

    return sorted(found.jobs, key=rank)


def _fields(house: House, told: Outlook, helps: dict[str, Change | None]) -> dict[str, Any]:
    """Return what is kept of one job."""
    change = helps.get(told.job)
    return {
        "day_50": told.day_50,
        "day_80": told.day_80,
        "day_90": told.day_90,
        "likely_ends": [day.isoformat() for day in told.dots],
        "shares": [
            {"kind": KINDS[one.cause], "share": round(one.share, 3), "words": share_words(house, one)}
            for one in told.shares
        ],
        "help_words": change_words(house, change)[:200] if change else "",
        "help_days": change.days if change else (0 if told.job in helps else None),
    }


def share_words(house: House, share: Share) -> str:
    """Return what of its kind decides a date most often, e.g. "Corin" or "glue after “Fit …”"."""
    if share.cause == Cause.PERSON:
        return str(house.people.get(share.what, ""))
    if share.cause == Cause.PLACE:
        return PLACE_WORDS.get(share.what, share.what)
    task, hold = house.tasks.get(share.what), house.holds.get(share.what)
    if share.cause in (Cause.PART, Cause.DAY):
        return hold.words if hold else ""
    if task is None:
        return ""
    if share.cause == Cause.WAIT:
        return f"{task.wait_reason or 'rest'} after “{short(task.name)}”"
    return f"most of all “{short(task.name)}”"


def change_words(house: House, change: Change) -> str:
    """Return a change in words, e.g. "one more bench"."""
    task = house.tasks.get(change.what)
    if change.help == Help.PART:
        return "all its parts here now"
    if change.help == Help.TASK:
        return f"somebody else doing half of “{short(task.name)}”" if task else "half the work done by somebody else"
    if change.help == Help.LEAVE:
        return f"{house.people.get(change.what, 'somebody')} staying in instead of being away"
    if change.help == Help.PLACE:
        return MORE_WORDS.get(change.what, "one more place")
    skill = house.skills.get(change.what.removeprefix("skill-"), change.what)
    return f"a second person for {skill[:1].lower()}{skill[1:]}"

"""What a variation may add to a job and leave out of it."""

from collections.abc import Mapping
from decimal import Decimal

from jobs.operations.calc.catalogue import Catalogue
from jobs.operations.calc.closure import Entry, close_scope
from jobs.operations.calc.quantities import pieces
from jobs.operations.models import Operation
from jobs.worklist.models import Job, Task, Variation, VariationOperation
from jobs.worklist.queries import OPEN_STATES, codes_in
from workshop.web.errors import Refused


def entries_added(job: Job, cat: Catalogue, operations: Mapping[str, Decimal], out: set[str]) -> dict[str, Entry]:
    """Return the closure of what is added, in working order. Raises Refused for a choice the job cannot take."""
    both = sorted(out & operations.keys())
    if both:
        raise Refused(f"“{cat.title(both[0])}” is both added and left out. Take back one of the two.")
    for code in operations:
        if code not in cat:
            raise Refused(f"The catalogue holds no operation {code}: choose one from the list.")
        if not cat.operations[code].fits(job.instrument.kind):
            raise Refused(f"“{cat.title(code)}” is done on {cat.operations[code].kind}s only, not on this instrument.")
    chosen = {code: float(count) for code, count in operations.items()}
    closed = close_scope(cat, dict(chosen), kind=job.instrument.kind)
    for trouble in closed.troubles:
        if trouble.stops:
            raise Refused(trouble.sentence)
    _check_alternatives(cat, chosen, codes_in(job) - out)
    for code, count in chosen.items():
        try:
            pieces(cat.operations[code], count, job.instrument.kind)
        except ValueError as error:
            raise Refused(str(error)) from error
    return {entry.code: entry for entry in closed.entries}


def _check_alternatives(cat: Catalogue, chosen: Mapping[str, float], stays: set[str]) -> None:
    """Raise Refused for an operation that is an alternative to one that stays in the job."""
    for code in chosen:
        for group in cat.groups_of(code):
            other = next((one for one in cat.alternatives[group] if one in stays and one != code), None)
            if other:
                raise Refused(
                    f"“{cat.title(code)}” and “{cat.title(other)}” are alternatives ({group}), and the second is part "
                    "of this job. Leave it out, or take back the first."
                )


def check_left_out(variation: Variation, codes: list[str], *, since_priced: bool = False) -> None:
    """Raise Refused for an operation that is not waiting on the job, or that another variation leaves out."""
    tasks = variation.job.tasks.filter(operation__code__in=codes)
    waiting = set(tasks.filter(state=Task.State.TO_COME).values_list("operation__code", flat=True))
    names = dict(Operation.objects.filter(code__in=codes).values_list("code", "name"))
    others = VariationOperation.objects.filter(
        variation__job=variation.job, variation__state__in=OPEN_STATES, adds=False
    ).exclude(variation=variation)
    elsewhere = dict(others.values_list("operation__code", "variation__number"))
    for code in codes:
        if code not in names:
            raise Refused(f"The catalogue holds no operation {code}: choose one from the list.")
        if code not in waiting and since_priced:
            raise Refused(f"“{names[code]}” has been begun since this was priced, so it stays. Price it again.")
        if code not in waiting:
            raise Refused(f"“{names[code]}” is not waiting to be done on this job, so it cannot be left out.")
        if code in elsewhere:
            raise Refused(f"Variation {elsewhere[code]} leaves “{names[code]}” out already.")

"""What a manager decides about a norm the hours speak against."""

import datetime as dt
from decimal import Decimal

from django.db import transaction

from jobs.estimating.models import NormDecision
from jobs.estimating.queries import norm_evidence
from jobs.operations.models import Operation
from jobs.operations.services import norm_change
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check

WORDS = 200


@transaction.atomic
def norm_accept(*, operation: Operation, likely: Decimal, by: Person, at: dt.datetime, on: dt.date) -> NormDecision:
    """Take the proposed norm; ``likely`` is the figure that was on the page. The evidence becomes the reason.

    Raises Refused when nothing is proposed any more, or another figure than the one that was read.
    """
    evidence = norm_evidence(operation, on)
    proposal = evidence.proposal
    if proposal is None:
        raise Refused(f"The hours propose no other norm for “{operation.name}” now: look at the page again.")
    if Decimal(str(proposal.likely)) != likely:
        raise Refused(f"Meanwhile the hours propose {proposal.likely:g} h: look at the page again.")
    reason = f"{proposal.above} of {proposal.above + proposal.below} logged tasks took longer than the norm"
    if proposal.below > proposal.above:
        reason = f"{proposal.below} of {proposal.above + proposal.below} logged tasks took less than the norm"
    before = operation.hours_likely
    low, middle, high = (Decimal(str(hours)) for hours in (proposal.low, proposal.likely, proposal.high))
    norm_change(operation=operation, hours_low=low, hours_likely=middle, hours_high=high, by=by, reason=reason, on=on)
    return _write(operation, NormDecision.Decided.ACCEPTED, reason, before, middle, len(evidence.lines), by, at)


@transaction.atomic
def norm_keep(*, operation: Operation, reason: str, by: Person, at: dt.datetime, on: dt.date) -> NormDecision:
    """Keep a norm although the hours propose another, with the reason; it is proposed again after five more logs.

    Raises Refused without a reason, or when nothing is proposed.
    """
    if not by.is_manager:
        raise Refused("Norms are settled by the manager.")
    if not reason.strip():
        raise Refused(f"Write down why the norm of “{operation.name}” stays: somebody will ask.")
    evidence = norm_evidence(operation, on)
    if evidence.proposal is None:
        raise Refused(f"The hours propose no other norm for “{operation.name}” now: nothing was written.")
    proposed = Decimal(str(evidence.proposal.likely))
    counting = sum(line.row.counts for line in evidence.lines)
    return _write(
        operation, NormDecision.Decided.KEPT, reason.strip(), operation.hours_likely, proposed, counting, by, at
    )


def _write(
    operation: Operation,
    decided: str,
    reason: str,
    before: Decimal,
    proposed: Decimal,
    logs: int,
    by: Person,
    at: dt.datetime,
) -> NormDecision:
    row = NormDecision(
        operation=operation,
        decided=decided,
        reason=reason[:WORDS],
        norm_before=before,
        proposed=proposed,
        logs=logs,
        by=by,
        at=at,
    )
    row_check(row)
    row.save()
    return row

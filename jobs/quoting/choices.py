"""What somebody ticked, counted and left out in the scope editor; nothing typed is lost when it is refused."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation

from django.http import QueryDict

from jobs.quoting.models import ScopeOperation


@dataclass
class ScopeChoices:
    """Codes picked, the counts and reasons as typed, and what is wrong with a count (code -> sentence)."""

    picked: list[str] = field(default_factory=list)
    counts: dict[str, str] = field(default_factory=dict)
    reasons: dict[str, str] = field(default_factory=dict)
    errors: dict[str, str] = field(default_factory=dict)

    @property
    def chosen(self) -> dict[str, Decimal | None]:
        """The picked codes with their counts, None for the usual one."""
        return {code: _count(self.counts.get(code, "")) for code in self.picked}

    @property
    def refused(self) -> dict[str, str]:
        """The codes with a reason for leaving them out, unless they are picked: picking wins."""
        return {code: reason for code, reason in self.reasons.items() if reason.strip() and code not in self.picked}


def choices_of(rows: Iterable[ScopeOperation]) -> ScopeChoices:
    """Return the choices a scope's rows stand for."""
    choices = ScopeChoices()
    for row in rows:
        code = row.operation.code
        if row.because == ScopeOperation.Because.CHOSEN:
            choices.picked.append(code)
            choices.counts[code] = f"{row.quantity.normalize():f}"
        elif row.because == ScopeOperation.Because.REFUSED:
            choices.reasons[code] = row.reason
    return choices


def choices_posted(data: QueryDict, codes: Iterable[str]) -> ScopeChoices:
    """Return the choices of a posted editor: ``pick`` (boxes), ``group-…`` (one of several), counts and reasons.

    A code that the catalogue does not hold is handed on all the same, so that the service can say so.
    """
    posted = data.getlist("pick")
    for name in data:
        if name.startswith("group-"):
            posted += data.getlist(name)
    choices = ScopeChoices(picked=[code for code in dict.fromkeys(posted) if code])
    for code in codes:
        choices.counts[code] = data.get(f"count-{code}", "").strip()
        choices.reasons[code] = data.get(f"why-{code}", "").strip()
        if code in choices.picked and choices.counts[code] and _count(choices.counts[code]) is None:
            choices.errors[code] = (
                f"“{choices.counts[code][:20]}” is not a count. Write a number such as 2 or 1.5, "
                "or leave it empty for the usual one."
            )
    return choices


def _count(text: str) -> Decimal | None:
    try:
        count = Decimal(text.replace(",", ".")) if text and len(text) <= 12 else None
    except InvalidOperation:
        return None
    return count if count is not None and count.is_finite() else None

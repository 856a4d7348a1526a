"""Questions about quotes: lists, one quote with its scopes side by side, the quote as it is printed."""

from jobs.quoting.queries.beginning import assessment_to_quote, assessments_to_quote, opening_words, proposed_codes
from jobs.quoting.queries.closing import scope_closed, scope_notes, scope_seen
from jobs.quoting.queries.lists import (
    QuoteCount,
    quote_after,
    quote_counts,
    quote_shown,
    quote_waiting,
    quotes_for,
    quotes_listed,
    scope_shown,
)
from jobs.quoting.queries.printing import hash_of_rows, quote_check, quote_print, words_now
from jobs.quoting.queries.said import WorkSaid, work_said
from jobs.quoting.queries.sheet import AmountRow, ScopeColumn, Sheet, WorkRow, quote_sheet

__all__ = [
    "AmountRow",
    "QuoteCount",
    "ScopeColumn",
    "Sheet",
    "WorkRow",
    "WorkSaid",
    "assessment_to_quote",
    "assessments_to_quote",
    "hash_of_rows",
    "opening_words",
    "proposed_codes",
    "quote_after",
    "quote_check",
    "quote_counts",
    "quote_print",
    "quote_sheet",
    "quote_shown",
    "quote_waiting",
    "quotes_for",
    "quotes_listed",
    "scope_closed",
    "scope_notes",
    "scope_seen",
    "scope_shown",
    "words_now",
    "work_said",
]

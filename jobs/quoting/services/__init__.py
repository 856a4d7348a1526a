"""Changes to quotes: begin and change a draft, write scopes and amounts, send, answer, lapse."""

from jobs.quoting.services.answers import quote_answer, quotes_lapse
from jobs.quoting.services.charges import charge_drop, charge_write
from jobs.quoting.services.drafts import quote_change, quote_copy, quote_start, scope_add, scope_remove
from jobs.quoting.services.figures import quote_work_out
from jobs.quoting.services.scopes import ChangedMeanwhile, scope_write
from jobs.quoting.services.sending import quote_send, valid_until
from jobs.quoting.services.talks import quote_talk, talk_settle

__all__ = [
    "ChangedMeanwhile",
    "charge_drop",
    "charge_write",
    "quote_answer",
    "quote_change",
    "quote_copy",
    "quote_send",
    "quote_start",
    "quote_talk",
    "quote_work_out",
    "quotes_lapse",
    "scope_add",
    "scope_remove",
    "scope_write",
    "talk_settle",
    "valid_until",
]

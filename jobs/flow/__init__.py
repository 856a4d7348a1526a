"""What follows what along the line of a job. Read this first.

Each function is one thing that happened, with its consequences in order, by plain calls. Views call these;
services never do. Background work is started when the transaction has ended. One module per stretch of the line.
"""

from jobs.flow.agreement import (
    client_wants_to_talk,
    letter_dates,
    quote_answered,
    quote_dates,
    quote_sent,
    ready_dates,
    variation_answered,
    variation_sent,
)
from jobs.flow.bench import job_booked_in, job_returned, proof_signed, task_closed
from jobs.flow.goods import goods_received, order_called_off, order_sent
from jobs.flow.handed import (
    assessment_money,
    invoices_coming_off,
    job_ends,
    minutes_logged,
    norm_said,
    parts_on_card,
    work_begins,
    work_in_hand,
)
from jobs.flow.learning import hours_closed, hours_corrected, hours_gathered, hours_withdrawn
from jobs.flow.letters import assessment_invoiced, invoice_issued, update_released
from jobs.flow.plan import date_moved, outlook_caught_up, plan_accepted, plan_letters, plan_wanted, plan_worked_out
from jobs.flow.reading import assessment_finished, instrument_changed

__all__ = [
    "assessment_finished",
    "assessment_invoiced",
    "assessment_money",
    "client_wants_to_talk",
    "date_moved",
    "goods_received",
    "hours_closed",
    "hours_corrected",
    "hours_gathered",
    "hours_withdrawn",
    "instrument_changed",
    "invoice_issued",
    "invoices_coming_off",
    "job_booked_in",
    "job_ends",
    "job_returned",
    "letter_dates",
    "minutes_logged",
    "norm_said",
    "order_called_off",
    "order_sent",
    "outlook_caught_up",
    "parts_on_card",
    "plan_accepted",
    "plan_letters",
    "plan_wanted",
    "plan_worked_out",
    "proof_signed",
    "quote_answered",
    "quote_dates",
    "quote_sent",
    "ready_dates",
    "task_closed",
    "update_released",
    "variation_answered",
    "variation_sent",
    "work_begins",
    "work_in_hand",
]

"""Changes of a job: opening it, its days in the house, and variations."""

from jobs.worklist.services.jobs import (
    check_no_open_job,
    job_book_in,
    job_open,
    job_ready,
    job_return,
    job_stop,
    task_agreed_write,
)
from jobs.worklist.services.variations import (
    variation_answer,
    variation_content,
    variation_price,
    variation_report,
    variation_send,
    variation_withdraw,
)

__all__ = [
    "check_no_open_job",
    "job_book_in",
    "job_open",
    "job_ready",
    "job_return",
    "job_stop",
    "task_agreed_write",
    "variation_answer",
    "variation_content",
    "variation_price",
    "variation_report",
    "variation_send",
    "variation_withdraw",
]

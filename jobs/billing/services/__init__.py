"""Changes of money: invoices and credits in one series, and the payments on them."""

from jobs.billing.services.assessments import (
    assessment_free,
    assessment_invoice,
    earlier_invoice_choose,
    earlier_invoices_take_up,
)
from jobs.billing.services.invoices import invoice_credit, invoice_issue
from jobs.billing.services.payments import payment_carry, payment_keep

__all__ = [
    "assessment_free",
    "assessment_invoice",
    "earlier_invoice_choose",
    "earlier_invoices_take_up",
    "invoice_credit",
    "invoice_issue",
    "payment_carry",
    "payment_keep",
]

"""Changes of money: invoices and credits in one series, and the payments on them."""

from jobs.billing.services.invoices import invoice_credit, invoice_issue
from jobs.billing.services.payments import payment_carry, payment_keep

__all__ = ["invoice_credit", "invoice_issue", "payment_carry", "payment_keep"]

"""The Money room: invoices, payments, the money of each job; assessments invoiced on their own."""

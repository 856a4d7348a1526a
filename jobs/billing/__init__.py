"""Takes the accepted amounts; gives deposit, stage and final invoices in an unbroken series, and receipts."""

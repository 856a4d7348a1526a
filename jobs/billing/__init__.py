"""Takes the accepted amounts, and assessments paid for alone; gives invoices in an unbroken series, and receipts."""

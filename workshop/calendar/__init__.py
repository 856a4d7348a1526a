"""Opening days and closures. Takes the shop's week, public holidays and own closures; gives out working days."""

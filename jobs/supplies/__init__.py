"""Takes tasks; gives needs, met from the shelf or by an order line, and the last safe order day."""

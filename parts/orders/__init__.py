"""Purchase orders, their lines, and what arrived."""

"""Pages and buttons: what jobs need, a part with what uses it, and what orders do to needs."""

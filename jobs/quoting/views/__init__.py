"""Pages and buttons of quotes and their scopes."""

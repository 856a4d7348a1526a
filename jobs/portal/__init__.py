"""The client's own pages behind a private link."""

"""Background work: fetch by id, call one function."""

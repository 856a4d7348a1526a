"""Commands of the shell."""

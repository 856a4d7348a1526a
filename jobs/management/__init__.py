"""Commands of the jobs app."""

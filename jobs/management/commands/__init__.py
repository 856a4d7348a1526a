"""Commands of the jobs app, one a file."""

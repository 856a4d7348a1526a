"""The engines: a problem in, a solution out."""

"""Parts as such: what can be bought and kept. Knows nothing of jobs."""

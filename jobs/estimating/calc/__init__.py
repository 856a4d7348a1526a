"""Hours with a range: per task, and for a bundle with the term all tasks of one job share."""

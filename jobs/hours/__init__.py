"""Takes what people log; gives hours per task, corrections with their history, closed tasks."""

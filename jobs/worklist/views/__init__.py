"""Pages and buttons of jobs, tasks and variations."""

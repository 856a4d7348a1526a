"""Takes the accepted scope; gives tasks in order, stages, variations and job cards."""

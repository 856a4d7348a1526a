"""Pages and buttons of the assessment."""

"""Takes tasks, people, places and arrivals; gives a checked plan and a promise."""

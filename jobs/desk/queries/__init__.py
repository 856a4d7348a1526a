"""What the staff's own pages show, gathered from every step."""

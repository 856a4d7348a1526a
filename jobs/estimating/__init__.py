"""Takes norms; gives likely and 8-in-10 hours per task and for a bundle."""

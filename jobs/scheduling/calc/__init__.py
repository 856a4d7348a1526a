"""The planning problem, its solution, the independent checker and the engines."""

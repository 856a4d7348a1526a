"""What follows from the year of an instrument."""

OLD_BEFORE = 1915  # instruments built before about this year count as old; common practice, no source


def era_of(year: int | None) -> str:
    """Return the era of an instrument by its year: "old" before 1915, else "modern", also where it is unknown."""
    return "old" if year is not None and year < OLD_BEFORE else "modern"

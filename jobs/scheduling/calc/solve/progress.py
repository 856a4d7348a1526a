"""What may be told while solving goes on."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Progress:
    """What may be shown while solving: schedules built, of how many (0: until the time is up), and the best so far."""

    built: int
    planned: int
    best_days_late: float
    late_jobs: int = 0
    seconds: float = 0.0

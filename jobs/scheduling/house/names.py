"""Names of rows in the planning problem."""

OWN = "own-"  # prefix of the private skill that keeps begun work with the person who began it


def task_key(task: int) -> str:
    """Return the name of a task."""
    return f"task-{task}"


def job_key(job: int) -> str:
    """Return the name of a job."""
    return f"job-{job}"


def person_key(person: int) -> str:
    """Return the name of a person."""
    return f"person-{person}"


def skill_key(code: str) -> str:
    """Return the name of a skill."""
    return f"skill-{code}"


def own_key(task: int) -> str:
    """Return the private skill of whoever has a task in hand."""
    return f"{OWN}{task}"


def row_of(key: str) -> int:
    """Return the primary key in the name of a task, job or person. Raises ValueError for another name."""
    return int(key.rpartition("-")[2])

"""The planning problem of this house, read from the database. Nothing is changed here.

Tasks, jobs, people and skills have plain names in the problem ("task-12"), because the planning core knows no
rows; ``in_words`` turns a sentence of the core back into one people read.
"""

from jobs.scheduling.house.doubt import uncertainty_of
from jobs.scheduling.house.house import Hold, HoldKind, House, house_problem, next_slot
from jobs.scheduling.house.maker import hours_left, session_count, slot_hours
from jobs.scheduling.house.names import job_key, person_key, row_of, skill_key, task_key
from jobs.scheduling.house.plannable import plannable
from jobs.scheduling.house.present import solution_of, somebody_is_gone, with_present_plan
from jobs.scheduling.house.words import in_words

__all__ = [
    "Hold", "HoldKind", "House", "hours_left", "house_problem", "in_words", "job_key", "next_slot",
    "person_key", "plannable", "row_of", "session_count", "skill_key", "slot_hours", "solution_of", "somebody_is_gone",
    "task_key", "uncertainty_of", "with_present_plan",
]  # fmt: skip

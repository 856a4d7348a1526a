"""Sentences of the planning core in the words of the house."""

import re

from jobs.scheduling.house.house import House

_NAME = re.compile(r"\b(?:(task|job|person)-(\d+)|skill-([\w-]*\w)|own-\d+)\b")
WHO_BEGAN = "of the one who began it"


def in_words(house: House, sentence: str) -> str:
    """Return a sentence with the names of tasks, instruments, people and skills in place of their keys."""

    def word(found: re.Match[str]) -> str:
        key = found.group(0)
        if key in house.tasks:
            task = house.tasks[key]
            return f"“{task.name}” on {task.job.instrument}"
        if key in house.jobs:
            return str(house.jobs[key].instrument)
        if key in house.people:
            return str(house.people[key])
        if found.group(3):
            return f"“{house.skills.get(found.group(3), found.group(3))}”"
        return WHO_BEGAN if key.startswith("own-") else key

    return _NAME.sub(word, sentence)

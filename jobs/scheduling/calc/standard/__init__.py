"""The standard project scheduling problem: reading its files, and a checker of its schedules.

``project_read(text, name)`` → ``StandardProject``, or raises ``UnreadableProject``; ``broken_rules(project, starts)``
→ sentences, empty when the schedule keeps every rule. The engine is ``solve.standard``.
"""

from jobs.scheduling.calc.standard.files import UnreadableProject, project_read
from jobs.scheduling.calc.standard.problem import StandardProject, UnusableProject, broken_rules, makespan

__all__ = ["StandardProject", "UnreadableProject", "UnusableProject", "broken_rules", "makespan", "project_read"]

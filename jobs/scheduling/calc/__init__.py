"""The planning problem, its solution, the independent checker and the engines. Pure: no clock, no database.

The way through, and the names to use (each from its own module):

* ``problem``: ``Problem`` of ``Technician``, ``Places``, ``Job``, ``Operation`` (with ``Fixed``),
  ``Previous`` (of ``Stint``); ``day_text`` and ``moment_text`` write dates. ``problem_file``:
  ``problem_read/write`` (text), ``problem_from/data`` (JSON data), ``UnreadableFile``.
* ``validate.validate(problem)`` → list of ``Trouble(where, sentence)``; empty when it can be planned.
* ``plan.plan(problem, rules=, rounds=, progress=)`` → ``Solution`` that keeps every rule, or raises
  ``PlanRefused`` (``.troubles`` in the input, ``.broken`` rules). This is the entry for services.
* ``solution``: ``Solution`` of ``Work(technician, stints)``; measures ``job_ends``, ``days_late``,
  ``weighted_days_late``, ``last_end``, ``holds`` (``Hold``) and ``occupancy`` (``DayUse``);
  ``solution_read/write/data``.
* ``check.check(problem, solution)`` → list of ``Broken(rule, where, sentence)``, written without the
  solver.
* ``solve.solve`` → ``Solution`` unchecked; ``solve.Rule``, ``RULES``, ``EARLIEST_DUE_DATE``,
  ``LEAST_SLACK``, ``Progress``, ``NoPlanFound``.
* ``critical_path``: ``critical_path(activities)`` → ``CriticalPath`` with ``Times``; ``three_point``;
  ``job_alone(problem, job_id)``.
* ``decides.job_decider(problem, solution, job_id)`` → ``Decider(job, kind, who, days, links)`` of ``Link``;
  ``task_links(problem, solution, operation_id)`` for one task; ``Kind``.
"""

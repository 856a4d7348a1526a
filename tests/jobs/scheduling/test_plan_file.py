"""``manage.py plan_file``: a file in, a checked plan out, or a sentence that says what to change."""

from dataclasses import replace
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from jobs.scheduling.calc.check import check
from jobs.scheduling.calc.plan import plan
from jobs.scheduling.calc.problem import Previous
from jobs.scheduling.calc.problem_file import problem_write
from jobs.scheduling.calc.solution import solution_read
from tests.jobs.scheduling.calc.shops import at, operation, shop

TASKS = [
    operation(f"j{job}.{step}", 3, after=(f"j{job}.{step - 1}",) if step else ())
    for job in range(3)
    for step in range(3)
]
PROBLEM = shop(TASKS)


def run(folder, text, *more):
    (folder / "shop.json").write_text(text, encoding="utf-8")
    told = StringIO()
    call_command("plan_file", str(folder / "shop.json"), str(folder / "plan.json"), *more, stdout=told)
    return told.getvalue()


def test_the_plan_written_keeps_every_rule_and_its_worth_is_said(tmp_path):
    told = run(tmp_path, problem_write(PROBLEM), "--seconds", "0.5")
    solution = solution_read((tmp_path / "plan.json").read_text())
    assert check(PROBLEM, solution) == []
    assert "0 weighted days late, 0 of 3 jobs late" in told
    assert "after 0." in told or "proved optimal" in told


def test_a_problem_with_a_plan_in_force_is_planned_around_what_people_were_told(tmp_path):
    before = plan(PROBLEM, rounds=0)
    previous = {key: Previous(work.technician, work.stints) for key, work in before.operations.items()}
    told = run(tmp_path, problem_write(replace(PROBLEM, now=at(0, "09:00"), previous=previous)), "0.4")
    assert "0 of 7 near starts moved" in told


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("{", r"shop\.json: This is not JSON"),
        ("{}", r"shop\.json: In the heading the entry 'day' is missing"),
        (
            problem_write(shop([operation("j1.gild", 2, "gilding")])),
            r"j1\.gild needs the skill gilding, which nobody has",
        ),
        (
            problem_write(shop([operation("j1.a", after=("j1.b",)), operation("j1.b", after=("j1.a",))])),
            r"j1\.a.*need each other in a circle: take one of these links out",
        ),
    ],
)
def test_a_bad_problem_is_named_with_what_to_change_and_nothing_is_written(tmp_path, text, sentence):
    with pytest.raises(CommandError, match=sentence):
        run(tmp_path, text)
    assert [path.name for path in tmp_path.iterdir()] == ["shop.json"]


def test_a_file_that_is_not_there_and_a_time_that_is_none_are_named(tmp_path):
    with pytest.raises(CommandError, match=r"nowhere\.json cannot be read: No such file"):
        call_command("plan_file", str(tmp_path / "nowhere.json"), str(tmp_path / "plan.json"))
    with pytest.raises(CommandError, match="give more than 0"):
        run(tmp_path, problem_write(PROBLEM), "--seconds", "0")
    with pytest.raises(CommandError, match="There is no folder"):
        call_command("plan_file", str(tmp_path / "shop.json"), str(tmp_path / "none" / "plan.json"))

"""What can be planned and yet wants looking at, each named with what to change."""

from dataclasses import replace
from datetime import timedelta

from jobs.scheduling.calc.check import check
from jobs.scheduling.calc.plan import plan
from jobs.scheduling.calc.problem import Job
from jobs.scheduling.calc.remarks import remarks
from tests.jobs.scheduling.calc.shops import MONDAY, at, operation, shop, technician


def told(problem):
    solution = plan(problem, rounds=0)
    assert not check(problem, solution), "the rest is planned all the same"
    return [str(one) for one in remarks(problem, solution)]


def test_a_due_date_that_has_passed_is_named_with_its_job():
    tasks = [operation("early.a"), operation("late.a")]
    jobs = [Job("early", 1, MONDAY - timedelta(days=3)), Job("late", 1, MONDAY), Job("gone", 1, MONDAY - timedelta(9))]
    problem = shop(tasks, jobs=jobs)
    sentence = "early was due Fri 1 Jan 2027, which has passed: agree on a new date."
    assert told(problem) == [sentence]
    assert told(replace(problem, now=at(0))) == [sentence], "a day that is not over has not passed"
    assert len(told(replace(problem, now=at(1)))) == 2


def test_work_longer_than_the_days_before_a_leave_is_named_with_whose_and_when():
    leave = (MONDAY + timedelta(days=9), MONDAY + timedelta(days=11))
    away = [technician("dilys", ("finish",), leave=(leave,))]
    polish = operation("polish", 75, "finish")
    assert told(shop([polish], technicians=away)) == [
        "polish is too long for the days dilys has before the leave from Wed 13 Jan 2027 to Fri 15 Jan 2027 and rests "
        "over it: share it out, or move the leave."
    ]
    assert told(shop([replace(polish, hours=56)], technicians=away)) == [], "seven days fit before it"
    assert told(shop([replace(polish, sessions=10)], technicians=away)) == [], "sessions have days between them anyway"


def test_a_leave_on_days_nobody_works_is_not_in_the_way():
    weekend = (MONDAY + timedelta(days=5), MONDAY + timedelta(days=6))
    people = [technician("dilys", ("finish",), leave=(weekend,))]
    assert told(shop([operation("polish", 75, "finish")], technicians=people)) == []

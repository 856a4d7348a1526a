from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given

from jobs.scheduling.calc.decides import Kind, job_decider, task_links
from jobs.scheduling.calc.plan import plan
from jobs.scheduling.calc.problem import Fixed, Places, Previous
from jobs.scheduling.calc.solution import Solution
from tests.jobs.scheduling.calc.shops import at, operation, shop, shops, technician, work

ALONE = (technician("bram"),)


def kinds(decider):
    return [(link.kind, link.operation, link.who) for link in decider.links]


def test_work_alone_decides_when_nothing_is_in_the_way():
    problem = shop([operation("j1.a", 8), operation("j1.b", 12, after=("j1.a",))], technicians=ALONE)
    found = job_decider(problem, plan(problem), "j1")
    assert (found.kind, found.who) == (Kind.WORK, "")
    assert kinds(found)[0] == (Kind.WORK, "j1.a", "bram")
    assert found.links[-1].end == at(2, "12:00")


def test_a_wait_decides_when_it_is_the_longest():
    problem = shop([operation("j1.spray", 2, wait_hours=168), operation("j1.rub", 2, after=("j1.spray",))])
    found = job_decider(problem, plan(problem), "j1")
    assert (found.kind, found.days) == (Kind.WAIT, 7)
    assert [kind for kind, *_ in kinds(found)] == [Kind.WORK, Kind.WAIT, Kind.WORK]


def test_a_part_decides_when_it_comes_late():
    problem = shop([operation("j1.a", 2), operation("j1.b", 2, after=("j1.a",), not_before=date(2027, 1, 20))])
    found = job_decider(problem, plan(problem), "j1")
    assert found.kind is Kind.PART
    (part,) = [link for link in found.links if link.kind is Kind.PART]
    assert (part.operation, part.start, part.end.date()) == ("j1.b", at(0, "10:00"), date(2027, 1, 20))


def test_a_person_decides_who_is_busy_with_something_else():
    problem = shop([operation("j1.a", 24), operation("j2.a", 2)], technicians=ALONE)
    solution = Solution({
        "j1.a": work("bram", (0, "08:00", "16:00"), (1, "08:00", "16:00"), (2, "08:00", "16:00")),
        "j2.a": work("bram", (3, "08:00", "10:00")),
    })  # fmt: skip
    found = job_decider(problem, solution, "j2")
    assert (found.kind, found.who) == (Kind.PERSON, "bram")
    assert found.links[0].behind == ("j1.a",)


def test_a_person_away_decides():
    away = technician("bram", leave=((date(2027, 1, 5), date(2027, 1, 15)),))
    problem = shop([operation("j1.a", 8), operation("j1.b", 8, after=("j1.a",))], technicians=[away])
    found = job_decider(problem, plan(problem), "j1")
    assert (found.kind, found.who) == (Kind.AWAY, "bram")


@pytest.mark.parametrize(("place", "places"), [("bench", Places(2, 1, 1)), ("spray", Places(2, 1, 1))])
def test_a_full_place_decides(place, places):
    problem = shop([operation("j1.a", 24, place=place), operation("j2.a", 2, place=place)], places=places)
    solution = Solution({
        "j1.a": work("bram", (0, "08:00", "16:00"), (1, "08:00", "16:00"), (2, "08:00", "16:00")),
        "j2.a": work("corin", (3, "08:00", "10:00")),
    })  # fmt: skip
    found = job_decider(problem, solution, "j2")
    assert (found.kind, found.who, found.links[0].behind) == (Kind.PLACE, place, ("j1.a",))


def test_a_full_floor_decides_and_names_the_instruments_on_it():
    problem = shop([operation("j1.a", 24), operation("j2.a", 2)], places=Places(1, 1, 1))
    long = work("bram", (0, "08:00", "16:00"), (1, "08:00", "16:00"), (2, "08:00", "16:00"))
    for who in ("bram", "corin"):  # bram is busy until then too, but corin is free all along: the floor is what lacks
        solution = Solution({"j1.a": long, "j2.a": work(who, (3, "08:00", "10:00"))})
        found = job_decider(problem, solution, "j2")
        assert (found.kind, found.who, found.links[0].behind) == (Kind.PLACE, "floor", ("j1",))


def test_an_appointment_decides():
    problem = shop([operation("j1.a", 2), operation("j1.meet", 1, after=("j1.a",), fixed=Fixed("bram", at(10)))])
    assert job_decider(problem, plan(problem), "j1").kind is Kind.APPOINTMENT


def test_a_job_without_work_has_no_decider():
    problem = shop([operation("j1.a")])
    with pytest.raises(ValueError, match="j1 has no work"):
        job_decider(problem, Solution({}), "j1")


@given(shops())
def test_the_chain_of_any_job_has_no_gap_and_ends_with_the_job(problem):
    solution = plan(problem, rounds=0)
    for job, end in solution.job_ends(problem).items():
        found = job_decider(problem, solution, job)
        assert found.links[-1].end == end
        for earlier, later in zip(found.links, found.links[1:], strict=False):
            assert earlier.end == later.start
        assert found.days <= sum(link.days for link in found.links) + 1e-9  # of days, added in another order


def test_begun_work_is_walked_back_past_now():
    problem = shop([operation("j1.a", 8), operation("j1.b", 8, after=("j1.a",))], technicians=ALONE)
    first = plan(problem)
    previous = {key: Previous(done.technician, done.stints) for key, done in first.operations.items()}
    later = replace(problem, now=at(0, "12:00"), previous=previous)
    assert job_decider(later, plan(later), "j1").links[0].start == at(0, "08:00")


def test_one_task_says_what_the_time_before_it_went_on():
    problem = shop(
        [
            operation("j1.glue", 2, wait_hours=24),
            operation("j1.fit", 2, after=("j1.glue",), not_before=date(2027, 1, 8)),
            operation("j2.long", 60),
        ],
        technicians=ALONE,
    )
    works = {
        "j1.glue": work("bram", (0, "08:00", "10:00")),
        "j1.fit": work("bram", (4, "08:00", "10:00")),
    }
    links = task_links(problem, Solution(works), "j1.fit")
    assert [(link.kind, link.operation) for link in links][0] == (Kind.WAIT, "j1.glue")
    assert links[0].end == at(1, "10:00")
    assert Kind.PART in {link.kind for link in links}
    assert task_links(problem, Solution(works), "j1.glue") == ()


@given(shops())
def test_the_stretches_before_a_task_follow_each_other_up_to_its_start(problem):
    found = plan(problem)
    for key, planned in found.operations.items():
        links = task_links(problem, found, key)
        assert all(one.end == two.start for one, two in zip(links, links[1:], strict=False))
        assert not links or links[-1].end == planned.start
    with pytest.raises(KeyError):
        task_links(problem, found, "nobody’s")

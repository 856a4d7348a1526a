"""What another plan moves and why, on shops small enough to see it; and planning again without a search."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.scheduling.calc.check import check
from jobs.scheduling.calc.moved import Cause, moved_later, moved_operations
from jobs.scheduling.calc.plan import plan_again
from jobs.scheduling.calc.problem import Places, Previous
from jobs.scheduling.calc.solution import Solution
from jobs.scheduling.calc.solve import near_moved
from tests.jobs.scheduling.calc.shops import at, operation, shop, shops, technician, work
from tests.jobs.scheduling.calc.test_plan_again import some_time_later

BRAM, CORIN = technician("bram"), technician("corin")


def told(operations, works, **more):
    """A shop at Monday 8:00 whose plan in force is ``works``."""
    previous = {key: Previous(one.technician, one.stints) for key, one in works.items()}
    return shop(operations, now=at(0), previous=previous, **more)


OLD = {"j1.a": work("bram", (0, "08:00", "12:00")), "j2.a": work("bram", (1, "08:00", "12:00"))}
TWO = [operation("j1.a", 4), operation("j2.a", 4)]


def only(problem, works):
    (found,) = moved_operations(problem, Solution(works))
    return found.operation, found.cause, found.who, found.behind


def test_what_stands_where_it_stood_has_not_moved():
    assert moved_operations(told(TWO, OLD), Solution(OLD)) == []


def test_somebody_away_and_a_day_the_shop_is_closed():
    new = OLD | {"j2.a": work("bram", (2, "08:00", "12:00"))}
    ill = replace(BRAM, leave=((at(1).date(), at(1).date()),))
    assert only(told(TWO, OLD, technicians=[ill]), new) == ("j2.a", Cause.AWAY, "bram", ())
    assert only(told(TWO, OLD, holidays=(at(1).date(),)), new) == ("j2.a", Cause.AWAY, "", ())


def test_work_that_only_another_can_go_on_with():
    begun = [operation("j1.a", 4), operation("j2.a", 4, "own")]
    people = [BRAM, replace(CORIN, skills=("own",))]
    new = OLD | {"j2.a": work("corin", (1, "08:00", "12:00"))}
    assert only(told(begun, OLD, technicians=people), new) == ("j2.a", Cause.SKILL, "corin", ())


def test_a_part_that_comes_later():
    late = [operation("j1.a", 4), operation("j2.a", 4, not_before=date(2027, 1, 7))]
    new = OLD | {"j2.a": work("bram", (3, "08:00", "12:00"))}
    assert only(told(late, OLD), new) == ("j2.a", Cause.PART, "", ())


def test_what_comes_before_it_ends_later_with_its_wait():
    old = {"j1.a": work("bram", (0, "08:00", "10:00")), "j1.b": work("corin", (1, "10:00", "12:00"))}
    row = [operation("j1.a", 4, wait_hours=24), operation("j1.b", 2, after=("j1.a",))]
    new = {"j1.a": work("bram", (0, "08:00", "12:00")), "j1.b": work("corin", (1, "12:00", "14:00"))}
    (found,) = moved_operations(told(row, old), Solution(new))
    assert (found.cause, found.behind, found.day, found.grew) == (Cause.BEFORE, ("j1.a",), at(1).date(), True)


def test_its_own_hours_and_the_work_that_takes_its_time():
    longer = [operation("j1.a", 12), operation("j2.a", 4)]
    new = {
        "j1.a": work("bram", (0, "08:00", "16:00"), (1, "08:00", "12:00")),
        "j2.a": work("bram", (1, "12:00", "16:00")),
    }
    (found,) = moved_operations(told(longer, OLD), Solution(new))
    assert (found.operation, found.cause, found.behind) == ("j2.a", Cause.MADE_WAY, ("j1.a",))
    assert (found.grew, found.is_new) == (True, False)
    new["j1.a"], new["j2.a"] = work("corin", (0, "08:00", "16:00"), (1, "08:00", "12:00")), OLD["j2.a"]
    assert only(told(longer, OLD), new) == ("j1.a", Cause.GROWN, "", ())
    more = [*TWO, operation("j3.a", 4)]
    new = {"j1.a": OLD["j1.a"], "j3.a": OLD["j2.a"], "j2.a": work("bram", (1, "12:00", "16:00"))}
    (found,) = moved_operations(told(more, OLD), Solution(new))
    assert (found.cause, found.behind, found.is_new) == (Cause.MADE_WAY, ("j3.a",), True)


@pytest.mark.parametrize(("place", "places"), [("bench", Places(4, 1, 1)), ("floor", Places(1, 2, 1))])
def test_a_full_place(place, places):
    here = [operation("j1.a", 4, place="bench"), operation("j2.a", 4, place="bench")]
    old = {"j1.a": work("corin", (0, "12:00", "16:00")), "j2.a": work("bram", (0, "08:00", "12:00"))}
    new = {"j1.a": work("corin", (0, "08:00", "12:00")), "j2.a": work("bram", (0, "12:00", "16:00"))}
    found = {one.operation: one for one in moved_operations(told(here, old, places=places), Solution(new))}
    holder = "j1.a" if place == "bench" else "j1"
    assert (found["j2.a"].cause, found["j2.a"].who, found["j2.a"].behind) == (Cause.PLACE, place, (holder,))


def test_a_move_nothing_near_explains_and_moves_nobody_was_told_of():
    new = OLD | {"j2.a": work("corin", (1, "08:00", "12:00"))}
    assert only(told(TWO, OLD), new) == ("j2.a", Cause.WHOLE, "", ())
    sooner = OLD | {"j2.a": work("bram", (0, "12:00", "16:00"))}
    assert only(told(TWO, OLD), sooner) == ("j2.a", Cause.SOONER, "", ())
    far = OLD | {"j2.a": work("bram", (21, "08:00", "12:00"))}
    problem = told(TWO, far)
    assert moved_operations(problem, Solution(new)) == []
    assert (moved_later(problem, Solution(new)), moved_later(problem, Solution(far))) == (1, 0)


@settings(max_examples=25)
@given(shops(), st.data())
def test_the_ways_without_a_search_keep_every_rule_and_every_move_has_a_cause(problem, data):
    later, _ = some_time_later(problem, data, longer=12)
    points = plan_again(later, seconds=None)
    for point in points:
        assert check(later, point.solution) == []
        assert point.moved == near_moved(later, point.solution) == len(moved_operations(later, point.solution))


def test_without_a_search_what_can_be_kept_is_kept():
    ill = replace(BRAM, leave=((at(1).date(), at(1).date()),))
    calm, _ = plan_again(told(TWO, OLD, technicians=[ill, CORIN]), seconds=None)
    assert (calm.name, calm.moved) == ("calm", 1)
    assert calm.solution.operations["j1.a"] == OLD["j1.a"]
    calm, _ = plan_again(told(TWO, OLD), seconds=None)
    assert calm.moved == 0

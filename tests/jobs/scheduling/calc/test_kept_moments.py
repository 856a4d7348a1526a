"""The search goes on from kept moments and gives up on what is hopeless: neither may change what is built."""

from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.scheduling.calc.solve import RULES
from jobs.scheduling.calc.solve.builder import NOTHING, Builder
from jobs.scheduling.calc.solve.compiled import rows as r
from jobs.scheduling.calc.solve.moves import Moves
from jobs.scheduling.calc.solve.prepared import Prepared
from jobs.scheduling.calc.solve.replan import pins_of
from jobs.scheduling.calc.solve.search import Search
from tests.jobs.scheduling.calc.shops import shops
from tests.jobs.scheduling.calc.test_compiled import later as appointed
from tests.jobs.scheduling.calc.test_plan_again import some_time_later

FEW = settings(max_examples=25)


def begun(problem, data):
    """A search standing at a schedule, its moves and a second builder that always begins at the start."""
    later = appointed(problem, data) if data.draw(st.booleans()) else some_time_later(problem, data, longer=3)[0]
    prepared = Prepared(later)
    search = Search(later, prepared=prepared, pins=pins_of(prepared))
    search.try_rules(RULES[:1], pinned=True)
    builder, whole = Builder(search.shop), Builder(search.shop)
    choice = search.kept.choice.copy()
    present = builder.stand_at(choice)
    moves = Moves(prepared, search.shop, Random(data.draw(st.integers(0, 99))))
    moves.look_at(builder)
    return builder, whole, choice, moves, present


@FEW
@given(shops(), st.data())
def test_a_schedule_begun_at_a_kept_moment_is_the_same_as_one_begun_at_the_start(problem, data):
    builder, whole, choice, moves, present = begun(problem, data)
    whole.cost(choice)
    rows = [r.START, r.WHO, r.END]
    standing = whole.state.piece[rows].tolist()
    for step in range(60):
        undo = moves.propose(choice)
        if undo is None:
            continue
        first, joins = moves.first_change(choice, undo), moves.settled(choice, undo) if step % 3 else r.FAR
        since, joined = builder.unchanged(first), False
        if first < r.FAR:
            cost, joined = builder.cost(choice, since=since, joins=joins), builder.joined
            assert cost == whole.cost(choice)
            if not joined:
                assert builder.score == whole.score
                assert builder.state.piece[rows].tolist() == whole.state.piece[rows].tolist()
        else:
            cost = whole.cost(choice)
        if joined or first >= r.FAR:  # what is not built is what stands
            assert cost == present
            assert whole.state.piece[rows].tolist() == standing
        if first >= r.FAR:
            continue
        if cost < NOTHING and step % 2:
            builder.accept(since, cost)
            present, standing = cost, whole.state.piece[rows].tolist()
            if not joined:
                moves.look_at(builder)
        else:
            for table, where, value in reversed(undo):
                table[where] = value


@FEW
@given(shops(), st.data())
def test_what_a_schedule_costs_at_the_least_is_never_more_than_it_costs(problem, data):
    builder, whole, choice, moves, present = begun(problem, data)
    for _ in range(20):
        moves.propose(choice)
        cost = whole.cost(choice)
        if cost >= NOTHING:
            continue
        late, soft, *_ = whole.state.result
        assert whole.state.result[r.LEAST_LATE] <= late + 1e-9
        assert whole.state.result[r.LEAST_COST] <= late + soft + 1e-9
        given_up = builder.cost(choice, limit=present, late_limit=0.0)
        assert given_up == cost or (given_up == NOTHING and cost > present)

"""The order of work, against networkx as an independent library of graphs."""

from pathlib import Path

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.operations.calc.catalogue import Catalogue, Operation
from jobs.operations.calc.order import CircularOrder, after_in_scope, all_before, find_ring, work_order
from jobs.operations.reference import read_reference

CATALOGUE = read_reference(Path(__file__).parents[3] / "fixtures" / "reference").catalogue()
CODES = list(CATALOGUE.operations)


def graph(catalogue):
    drawn = nx.DiGraph()
    drawn.add_nodes_from(catalogue.operations)
    drawn.add_edges_from((first, code) for code, firsts in catalogue.before.items() for first in firsts)
    return drawn


def test_everything_before_is_what_networkx_calls_ancestors():
    drawn = graph(CATALOGUE)
    assert {c: set(f) for c, f in all_before(CATALOGUE).items()} == {c: nx.ancestors(drawn, c) for c in CODES}


@given(st.sets(st.sampled_from(CODES), max_size=30))
def test_links_inside_a_scope_are_the_transitive_reduction_of_the_closure(inside):
    reduced = nx.transitive_reduction(nx.transitive_closure_dag(graph(CATALOGUE)).subgraph(inside))
    assert after_in_scope(CATALOGUE, inside) == {code: set(reduced.predecessors(code)) for code in inside}


def test_the_order_holds_through_an_operation_left_out():
    # the board is varnished before the frame goes back, and that before stringing cloths
    assert after_in_scope(CATALOGUE, ["sb-finish", "st-felt"])["st-felt"] == {"sb-finish"}


def test_operations_without_a_link_stay_in_the_order_of_the_catalogue():
    loose = Catalogue({code: Operation(code) for code in "cab"}, {"c": frozenset("b")})
    assert work_order(loose) == ["a", "b", "c"]


def test_a_ring_is_named():
    ring = Catalogue({c: Operation(c) for c in "abcd"}, {"a": {"c"}, "c": {"b"}, "b": {"a"}, "d": {"a"}})
    with pytest.raises(CircularOrder, match="wait for each other") as raised:
        work_order(ring)
    assert set(raised.value.ring) == set("abc")


def test_an_unknown_operation_is_refused():
    with pytest.raises(ValueError, match="no operation xx-none"):
        after_in_scope(CATALOGUE, ["xx-none"])


@given(st.dictionaries(st.integers(0, 8), st.sets(st.integers(0, 8), max_size=3), max_size=9))
def test_a_ring_is_found_exactly_when_networkx_finds_one(links):
    drawn = nx.DiGraph((a, b) for a, others in links.items() for b in others)
    ring = find_ring({str(a): {str(b) for b in others} for a, others in links.items()})
    assert bool(ring) == (not nx.is_directed_acyclic_graph(drawn))
    for a, b in zip(ring, ring[1:] + ring[:1], strict=True):
        assert int(b) in links[int(a)]

"""The order of work: what must be finished before what, also through operations that are left out."""

import heapq
from collections.abc import Collection, Mapping

from jobs.operations.calc.catalogue import Catalogue


class CircularOrder(ValueError):
    """Operations that wait for each other in a ring; ``ring`` names them in order."""

    def __init__(self, ring: list[str]) -> None:
        self.ring = ring
        super().__init__(f"These operations wait for each other in a ring: {' → '.join([*ring, ring[0]])}.")


def find_ring(links: Mapping[str, Collection[str]]) -> list[str]:
    """Return one ring in the links (code -> codes it points to), or an empty list if there is none."""
    done: set[str] = set()
    for start in links:
        path: list[str] = []
        on_path: set[str] = set()
        stack: list[tuple[str, bool]] = [(start, False)]
        while stack:
            code, leaving = stack.pop()
            if leaving:
                path.pop()
                on_path.discard(code)
                done.add(code)
            elif code in on_path:
                return path[path.index(code) :]
            elif code not in done:
                path.append(code)
                on_path.add(code)
                stack.append((code, True))
                stack.extend((other, False) for other in sorted(links.get(code, ()), reverse=True))
    return []


def work_order(catalogue: Catalogue) -> list[str]:
    """Return every operation so that prerequisites come first, otherwise in the order of the catalogue.

    Raises CircularOrder when prerequisites form a ring.
    """
    place = catalogue.place_of()
    waiting = {code: len(catalogue.before.get(code, frozenset()) & place.keys()) for code in place}
    after: dict[str, list[str]] = {code: [] for code in place}
    for code in place:
        for first in catalogue.before.get(code, frozenset()) & place.keys():
            after[first].append(code)
    ready = [(place[code], code) for code, count in waiting.items() if count == 0]
    heapq.heapify(ready)
    order: list[str] = []
    while ready:
        _, code = heapq.heappop(ready)
        order.append(code)
        for later in after[code]:
            waiting[later] -= 1
            if waiting[later] == 0:
                heapq.heappush(ready, (place[later], later))
    if len(order) < len(place):
        raise CircularOrder(find_ring(catalogue.before))
    return order


def all_before(catalogue: Catalogue) -> dict[str, frozenset[str]]:
    """Return, for each operation, every operation of the whole catalogue that must come before it.

    Raises CircularOrder.
    """
    earlier: dict[str, frozenset[str]] = {}
    for code in work_order(catalogue):
        direct = catalogue.before.get(code, frozenset()) & catalogue.operations.keys()
        earlier[code] = direct.union(*(earlier[first] for first in direct))
    return earlier


def after_in_scope(catalogue: Catalogue, codes: Collection[str]) -> dict[str, set[str]]:
    """Return, for each operation of the scope, the operations of the scope that come immediately before it.

    The order holds through operations that are left out, and links that follow from others are dropped
    (transitive reduction). Raises ValueError for a code that is not in the catalogue, and CircularOrder.
    """
    unknown = sorted(set(codes) - catalogue.operations.keys())
    if unknown:
        raise ValueError(f"The catalogue holds no operation {', '.join(unknown)}.")
    earlier = all_before(catalogue)
    inside = frozenset(codes)
    result: dict[str, set[str]] = {}
    for code in codes:
        direct = earlier[code] & inside
        implied = frozenset().union(*(earlier[first] for first in direct))
        result[code] = set(direct - implied)
    return result


def scope_order(catalogue: Catalogue, codes: Collection[str]) -> list[str]:
    """Return the operations of a scope in an order that keeps every prerequisite. Raises CircularOrder."""
    inside = set(codes)
    return [code for code in work_order(catalogue) if code in inside]

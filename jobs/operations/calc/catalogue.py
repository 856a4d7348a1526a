"""The catalogue of work as plain data: operations and the links between them."""

from collections.abc import Mapping
from dataclasses import dataclass, field

BOTH = "both"
KINDS = ("grand", "upright")
TOGETHER = "together"
IN_TURN = "in turn"


@dataclass(frozen=True)
class Operation:
    """One piece of work, with its norm in attended person-hours per unit.

    ``kind`` is grand, upright or both; ``unit`` is instrument, note, panel, section, place or pass.
    ``repeats`` says whether several units are done together (one wait after the last) or in turn (a wait
    after each). ``wait_hours`` are clock hours; ``least_days`` is the least number of working days the
    attended hours are spread over.
    """

    code: str
    name: str = ""
    area: str = ""
    kind: str = BOTH
    unit: str = "instrument"
    usual_grand: float = 1
    usual_upright: float = 1
    repeats: str = TOGETHER
    hours_low: float = 1
    hours_likely: float = 1
    hours_high: float = 1
    upright_factor: float = 1
    skill: str = ""
    place: str = ""
    wait_hours: float = 0
    least_days: int = 1

    def fits(self, kind: str) -> bool:
        """Tell whether the operation can be done on that kind of instrument."""
        return self.kind in (BOTH, kind)

    @property
    def title(self) -> str:
        """Return the name, or the code where a name is wanting."""
        return self.name or self.code


@dataclass(frozen=True)
class Catalogue:
    """All operations, in the order of the catalogue, with their links.

    ``before``: code -> the operations that must be finished first if they are in the scope;
    ``implies``: code -> the operations that become necessary; ``alternatives``: group -> the operations of
    which at most one belongs in a scope.
    """

    operations: Mapping[str, Operation]
    before: Mapping[str, frozenset[str]] = field(default_factory=dict)
    implies: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    alternatives: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def __contains__(self, code: object) -> bool:
        return code in self.operations

    def place_of(self) -> dict[str, int]:
        """Return the position of each operation in the catalogue, from 0."""
        return {code: place for place, code in enumerate(self.operations)}

    def groups_of(self, code: str) -> list[str]:
        """Return the groups of alternatives the operation belongs to."""
        return [group for group, codes in self.alternatives.items() if code in codes]

    def title(self, code: str) -> str:
        """Return the name of an operation, or the code itself if the catalogue does not hold it."""
        return self.operations[code].title if code in self.operations else code

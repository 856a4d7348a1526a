"""What one scope adds to and leaves out of another."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True)
class Difference:
    """Codes added, left out, and done in another quantity, against the scope it is compared with."""

    added: tuple[str, ...]
    left_out: tuple[str, ...]
    changed: tuple[str, ...]

    @property
    def nothing(self) -> bool:
        """Tell whether the two scopes hold the same work."""
        return not (self.added or self.left_out or self.changed)


def scope_difference(scope: Mapping[str, Decimal], against: Mapping[str, Decimal]) -> Difference:
    """Return the difference of two scopes given as code -> quantity, in the order of each."""
    return Difference(
        tuple(code for code in scope if code not in against),
        tuple(code for code in against if code not in scope),
        tuple(code for code, quantity in scope.items() if code in against and against[code] != quantity),
    )

"""Closing a scope: everything the chosen work drags along, with the reason for each operation.

An operation is in the scope because it was chosen or because an operation of the scope makes it necessary.
An implied operation stays out when it does not fit the kind of instrument, when a person refused it, or when
another of its group of alternatives is already in.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from jobs.operations.calc.catalogue import Catalogue
from jobs.operations.calc.order import scope_order


@dataclass(frozen=True)
class Entry:
    """One operation of a scope; ``quantity`` is None where the usual count holds."""

    code: str
    quantity: float | None
    chosen: bool
    implied_by: tuple[str, ...] = ()


@dataclass(frozen=True)
class Refusal:
    """An operation a person said no to, and the operations of the scope that ask for it."""

    code: str
    reason: str
    implied_by: tuple[str, ...] = ()


@dataclass(frozen=True)
class SetAside:
    """An operation that stays out because ``instead`` of the same group of alternatives is in."""

    code: str
    instead: str
    group: str
    implied_by: tuple[str, ...] = ()


@dataclass(frozen=True)
class Trouble:
    """Something to mend before the scope may be sent (``stops``) or to think about (not ``stops``)."""

    code: str
    sentence: str
    stops: bool = True


@dataclass(frozen=True)
class Scope:
    """A closed scope, its entries in an order of work that keeps every prerequisite."""

    entries: tuple[Entry, ...]
    refusals: tuple[Refusal, ...] = ()
    set_aside: tuple[SetAside, ...] = ()
    troubles: tuple[Trouble, ...] = ()

    @property
    def codes(self) -> tuple[str, ...]:
        """Return the codes of the scope in working order."""
        return tuple(entry.code for entry in self.entries)

    @property
    def implied(self) -> tuple[str, ...]:
        """Return the codes that nobody chose."""
        return tuple(entry.code for entry in self.entries if not entry.chosen)


def close_scope(
    catalogue: Catalogue,
    chosen: Mapping[str, float | None],
    *,
    kind: str,
    refused: Mapping[str, str] | None = None,
) -> Scope:
    """Return the closed scope of the chosen operations (code -> quantity, None for the usual count).

    ``refused`` maps a code to the reason a person gave. Nothing is raised for a bad choice: it stays out and
    a trouble says so. Of two chosen alternatives the first stays.
    """
    refused = refused or {}
    troubles: list[Trouble] = []
    picked = _picked(catalogue, chosen, kind, refused, troubles)
    inside = _dragged_along(catalogue, picked, kind, refused)
    asked_by = {
        code: tuple(c for c in catalogue.operations if c in inside and code in catalogue.implies.get(c, ()))
        for code in catalogue.operations
    }
    entries = tuple(
        Entry(code, picked.get(code), code in picked, asked_by[code]) for code in scope_order(catalogue, inside)
    )
    refusals = tuple(Refusal(code, reason, asked_by[code]) for code, reason in refused.items() if code in catalogue)
    troubles += _refusal_troubles(catalogue, refused, refusals, inside)
    return Scope(entries, refusals, _set_aside(catalogue, inside, asked_by, kind, refused), tuple(troubles))


def why(catalogue: Catalogue, entry: Entry) -> str:
    """Return why an operation is in the scope, in words."""
    if not entry.implied_by:
        return "Chosen."
    names = ", ".join(catalogue.title(code) for code in entry.implied_by)
    return f"Chosen; also made necessary by: {names}." if entry.chosen else f"Made necessary by: {names}."


def _picked(
    catalogue: Catalogue,
    chosen: Mapping[str, float | None],
    kind: str,
    refused: Mapping[str, str],
    troubles: list[Trouble],
) -> dict[str, float | None]:
    picked: dict[str, float | None] = {}
    taken: dict[str, str] = {}
    for code, quantity in chosen.items():
        sentence = _objection(catalogue, code, quantity, kind, refused)
        for group in catalogue.groups_of(code) if not sentence else ():
            if group in taken:
                sentence = (
                    f"“{catalogue.title(taken[group])}” and “{catalogue.title(code)}” are alternatives "
                    f"({group}): choose one of them. The first is kept."
                )
        if sentence:
            troubles.append(Trouble(code, sentence))
            continue
        picked[code] = quantity
        taken.update((group, code) for group in catalogue.groups_of(code))
    return picked


def _objection(catalogue: Catalogue, code: str, quantity: float | None, kind: str, refused: Mapping[str, str]) -> str:
    if code not in catalogue:
        return f"The catalogue holds no operation “{code}”. Choose one from the list."
    operation = catalogue.operations[code]
    if not operation.fits(kind):
        return f"“{operation.title}” is work on {_an(operation.kind)}; this instrument is {_an(kind)}."
    if code in refused:
        return f"“{operation.title}” is both chosen and refused. Take back one of the two."
    if quantity is not None and not quantity > 0:
        return (
            f"“{operation.title}” needs a count above nought, not {quantity:g}. Leave the count out for the usual one."
        )
    return ""


def _an(kind: str) -> str:
    return f"an {kind}" if kind[0] in "aeiou" else f"a {kind}"


def _dragged_along(
    catalogue: Catalogue, picked: Mapping[str, float | None], kind: str, refused: Mapping[str, str]
) -> set[str]:
    inside = set(picked)
    taken = {group for code in picked for group in catalogue.groups_of(code)}
    queue = list(picked)
    while queue:
        for code in catalogue.implies.get(queue.pop(0), ()):
            groups = catalogue.groups_of(code)
            wanted = code in catalogue and catalogue.operations[code].fits(kind) and code not in refused
            if not wanted or code in inside or taken.intersection(groups):
                continue
            inside.add(code)
            taken.update(groups)
            queue.append(code)
    return inside


def _set_aside(
    catalogue: Catalogue,
    inside: set[str],
    asked_by: Mapping[str, tuple[str, ...]],
    kind: str,
    refused: Mapping[str, str],
) -> tuple[SetAside, ...]:
    found = []
    for code, operation in catalogue.operations.items():
        if code in inside or code in refused or not asked_by[code] or not operation.fits(kind):
            continue
        for group in catalogue.groups_of(code):
            instead = next((c for c in catalogue.alternatives[group] if c in inside), None)
            if instead:
                found.append(SetAside(code, instead, group, asked_by[code]))
                break
    return tuple(found)


def _refusal_troubles(
    catalogue: Catalogue, refused: Mapping[str, str], refusals: tuple[Refusal, ...], inside: set[str]
) -> list[Trouble]:
    troubles = [
        Trouble(code, f"The catalogue holds no operation “{code}” that could be refused.")
        for code in refused
        if code not in catalogue
    ]
    for refusal in refusals:
        name = catalogue.title(refusal.code)
        if not refusal.reason.strip():
            troubles.append(Trouble(refusal.code, f"“{name}” is refused without a reason. Write down why."))
        if refusal.implied_by:
            asking = ", ".join(catalogue.title(code) for code in refusal.implied_by)
            sentence = f"“{name}” is refused, but made necessary by: {asking}."
            troubles.append(Trouble(refusal.code, sentence, stops=False))
        before = catalogue.before
        waiting = [c for c in catalogue.operations if c in inside and refusal.code in before.get(c, ())]
        if waiting:
            names = ", ".join(catalogue.title(code) for code in waiting)
            sentence = f"“{name}” is refused, but ordinarily comes before: {names}."
            troubles.append(Trouble(refusal.code, sentence, stops=False))
    return troubles

"""What every staff page knows: the rooms of the house, the day, the shop."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse
from django.utils import timezone
from django.utils.functional import SimpleLazyObject

from workshop.house.queries import the_shop


@dataclass(frozen=True)
class Room:
    """One of the nine rooms: a word in the top row, and the steps (or single pages) that belong to it."""

    url_name: str
    label: str
    steps: tuple[str, ...]
    for_technicians: bool = False


@dataclass(frozen=True)
class Door:
    """A room as one page shows it: its address, and whether the page is inside it."""

    url: str
    label: str
    current: bool


ROOMS = (
    Room("desk-today", "Today", ("desk", "updates", "update", "mail"), for_technicians=True),
    Room(
        "desk-instruments",
        "Instruments",
        (
            "desk-instrument",
            "desk-instruments",
            "client",
            "instrument",
            "enquiry",
            "assessment",
            "finding",
            "photograph",
            "remark",
            "reading",
            "job",
            "task",
            "variation",
            "proof",
            "target",
            "link",
        ),
        for_technicians=True,
    ),
    Room("quote-list", "Quotes", ("quote", "scope", "charge")),
    Room("plan-show", "Plan", ("plan", "promise"), for_technicians=True),
    Room("bench-mine", "Bench", ("bench", "hours"), for_technicians=True),
    Room(
        "parts-list",
        "Parts",
        ("parts", "part", "shelf", "supplier", "order", "need", "needs", "wire"),
        for_technicians=True,
    ),
    Room("money-list", "Money", ("money", "invoice", "payment")),
    Room("norms-list", "Norms", ("norms", "norm", "ranges", "range", "hours-held")),
    Room("house-show", "Workshop", ("house", "person", "place", "leave", "closure")),
)


def address(url_name: str) -> str:
    """Return the address of a page that needs no argument, or "" when there is no such page."""
    try:
        return reverse(url_name)
    except NoReverseMatch:
        return ""


def rooms_for(request: HttpRequest) -> list[Door]:
    """Return the rooms this person may enter, in their order; none before signing in.

    A page whose step belongs to no room (see ``Room.steps``) has no current room; it may name one with
    ``room`` in its context.
    """
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return []
    everything = getattr(user, "role", "") == "manager"
    match = getattr(request, "resolver_match", None)
    name = (match.url_name or "") if match else ""
    open_to = [room for room in ROOMS if everything or room.for_technicians]
    # A full name says more than its first word: the record of an instrument is not in the room of Today.
    step = name if any(name in room.steps for room in open_to) else name.split("-", 1)[0]
    doors = [Door(address(room.url_name), room.label, step in room.steps) for room in open_to]
    return [door for door in doors if door.url]


def house(request: HttpRequest) -> dict[str, Any]:
    """Return ``rooms``, ``room_name``, ``today``, ``shop`` (read only when used) and ``sign_out``."""
    rooms = SimpleLazyObject(lambda: rooms_for(request))
    return {
        "rooms": rooms,
        "room_name": SimpleLazyObject(lambda: next((door.label for door in rooms_for(request) if door.current), "")),
        "today": timezone.localdate(),
        "shop": SimpleLazyObject(the_shop),
        "sign_out": address("people-sign-out"),
    }

"""The people, places, suppliers and shelves of the demo shop."""

import datetime as dt
from decimal import Decimal

from parts.catalogue.models import Part, StockMove, Supplier
from workshop.calendar.models import Closure
from workshop.house.models import Shop
from workshop.people.models import Leave, Person, Skill
from workshop.places.models import Place

PASSWORD = "wrest pin and plank"  # noqa: S105  the demo's own, printed when it starts
STAFF: tuple[tuple[str, str, tuple[str, ...], list[int]], ...] = (
    ("Tamsin", "manager", ("assess",), [0, 1, 2, 3, 4]),
    ("Bram", "technician", ("structure", "string", "handling", "assess"), [0, 1, 2, 3, 4]),
    ("Corin", "technician", ("action", "setup", "tone"), [0, 1, 2, 3, 4]),
    ("Dilys", "technician", ("finish", "cabinet", "handling"), [0, 1, 2, 3, 4]),
    ("Edda", "technician", ("setup", "tone", "assess", "string"), [0, 1, 2, 3, 4]),
    ("Fintan", "technician", ("action", "cabinet"), [0, 1, 2]),
)
# part kinds -> supplier; whatever is not named comes from the first
SUPPLIERS = (
    ("Felt & Shank", "orders@feltshank.example", "Unit 4, Tannery Yard\nDunmarrow"),
    ("Dunmarrow Strings", "strings@dunmarrow.example", "The Winding Shed\nDunmarrow"),
    ("Hollin Wire", "sales@hollinwire.example", "Drawbench Lane\nHollin"),
    ("Quillow Finishes", "counter@quillowfinishes.example", "2 Quillow Lane\nHarrowmere"),
)

ASSESSMENT_PRICE = Decimal("480.00")  # with VAT; invented


def shop_furnish(today: dt.date) -> dict[str, Person]:
    """Write the shop, its people, places and closures; return the people by name."""
    Shop.objects.update_or_create(
        pk=1,
        defaults={
            "name": "The Workshop, Quillow Lane",
            "street": "14 Quillow Lane",
            "town": "Harrowmere",
            "postcode": "HM1 4QL",
            "email": "workshop@harrowmere.example",
            "phone": "01632 960100",
            "vat_number": "GB 999 9999 73",
            "assessment_price": ASSESSMENT_PRICE,
        },
    )
    Place.objects.bulk_create(
        [Place(kind="floor", name="Main floor", holds=7), Place(kind="floor", name="Back room", holds=3)]
        + [Place(kind="bench", name=f"Bench {number}") for number in range(1, 6)]
        + [Place(kind="spray", name="Spray room")]
    )
    people = {}
    skills = {skill.code: skill for skill in Skill.objects.all()}
    for name, role, codes, days in STAFF:
        person = Person.objects.create_user(
            username=name.lower(),
            password=PASSWORD,
            first_name=name,
            role=role,
            workdays=days,
            on_the_bench=role == "technician",
            email=f"{name.lower()}@harrowmere.example",
        )
        person.skills.set([skills[code] for code in codes])
        people[name] = person
    monday = today - dt.timedelta(days=today.weekday())
    Leave.objects.bulk_create(
        [
            Leave(person=people["Dilys"], first_day=monday + dt.timedelta(17), last_day=monday + dt.timedelta(18)),
            Leave(person=people["Corin"], first_day=monday + dt.timedelta(35), last_day=monday + dt.timedelta(39)),
            Leave(person=people["Edda"], first_day=monday + dt.timedelta(49), last_day=monday + dt.timedelta(50)),
        ]
    )
    year = today.year
    Closure.objects.create(
        first_day=dt.date(year, 12, 27), last_day=dt.date(year, 12, 31), reason="closed between the years"
    )
    return people


def shelves_fill(people: dict[str, Person], at: dt.datetime) -> None:
    """Give every part a supplier and a shelf, and put the small things of a workshop on the shelf."""
    made = [Supplier.objects.create(name=name, email=email, address=address) for name, email, address in SUPPLIERS]
    by_name = {supplier.name: supplier for supplier in made}
    moves = []
    for place, part in enumerate(Part.objects.order_by("code")):
        part.supplier = by_name[_supplier(part)]
        part.shelf = f"{'ABCDE'[place % 5]}{place // 5 + 1}"
        small = not part.measure_needed and part.lead_days <= 10 and part.price <= 60
        part.reorder_below = Decimal(2) if small else Decimal(0)
        part.save(update_fields=["supplier", "shelf", "reorder_below"])
        if small:
            there = Decimal(1 if place % 7 == 0 else 6 + place % 5)
            moves.append(StockMove(part=part, quantity=there, reason="counted", at=at, by=people["Tamsin"]))
    StockMove.objects.bulk_create(moves)


def _supplier(part: Part) -> str:
    text = f"{part.code} {part.name} {part.kind}".lower()
    if "wound" in text or "bass" in text:
        return "Dunmarrow Strings"
    if "wire" in text or "pin" in text:
        return "Hollin Wire"
    if any(word in text for word in ("polish", "shellac", "spirit", "lacquer", "varnish", "stripper", "polyester")):
        return "Quillow Finishes"
    return "Felt & Shank"

"""Plain functions that make rows for tests: sensible defaults, keyword overrides."""

import datetime as dt
import itertools
from decimal import Decimal
from io import BytesIO
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from jobs.assessment.models import Assessment, Measure, MeasureRange, Reading
from jobs.intake.models import Client, Instrument
from jobs.operations.models import Operation
from jobs.quoting.models import Quote, Scope
from jobs.worklist.models import Job, Task
from parts.catalogue.models import Part, Supplier
from workshop.people.models import Person, Skill
from workshop.places.models import Place

MOMENT = dt.datetime(2027, 1, 11, 9, 0, tzinfo=dt.UTC)  # a Monday
TODAY = MOMENT.date()
_count = itertools.count(1)


def make_skill(code: str = "action", **more: Any) -> Skill:
    return Skill.objects.get_or_create(code=code, defaults={"name": code, **more})[0]


def make_person(name: str = "Corin", *, role: str = "technician", skills: tuple[str, ...] = (), **more: Any) -> Person:
    person = Person.objects.create_user(
        username=more.pop("username", f"{name.lower()}{next(_count)}"),
        password="a long password",
        first_name=name,
        role=role,
        **more,
    )
    person.skills.set([make_skill(code) for code in skills])
    return person


def make_manager(name: str = "Tamsin", **more: Any) -> Person:
    return make_person(name, role="manager", **more)


def make_technician(name: str = "Corin", **more: Any) -> Person:
    return make_person(name, **{"skills": ("action", "setup"), **more})


def make_place(kind: str = "floor", holds: int = 4, **more: Any) -> Place:
    return Place.objects.create(kind=kind, name=f"{kind} {next(_count)}", holds=holds, **more)


def make_client(name: str = "Mrs Ferrowby", **more: Any) -> Client:
    return Client.objects.create(name=name, **{"email": "ferrowby@harrowmere.example", **more})


def make_instrument(**more: Any) -> Instrument:
    defaults: dict[str, Any] = {
        "number": 900 + next(_count),
        "kind": "grand",
        "maker": "Larkwhistle",
        "year": 1887,
        "year_is_estimate": True,
        "first_key": 1,
        "last_key": 85,
        "last_wound_key": 20,
    }
    if "client" not in more:
        defaults["client"] = make_client()
    return Instrument.objects.create(**{**defaults, **more})


def make_operation(code: str = "ky-bush", **more: Any) -> Operation:
    defaults: dict[str, Any] = {
        "area": "keys",
        "stage": "keys",
        "name": f"operation {code}",
        "hours_low": Decimal(7),
        "hours_likely": Decimal(11),
        "hours_high": Decimal(16),
        "work_place": "bench",
        "source": "test",
    }
    if "skill" not in more:
        defaults["skill"] = make_skill("action")
    return Operation.objects.get_or_create(code=code, defaults={**defaults, **more})[0]


def make_measure(code: str = "down-weight", *, low: float | None = 46, high: float | None = 54, **more: Any) -> Measure:
    defaults = {
        "name": "Down weight",
        "unit": "g",
        "units_accepted": ["g", "oz"],
        "value_kind": "number",
        "spot_kinds": ["note"],
    }
    measure, made = Measure.objects.get_or_create(code=code, defaults={**defaults, **more})
    if made:
        for kind, era in itertools.product(("grand", "upright"), ("modern", "old")):
            MeasureRange.objects.create(
                measure=measure,
                instrument_kind=kind,
                era=era,
                low=None if low is None else Decimal(str(low)),
                high=None if high is None else Decimal(str(high)),
                status="common practice",
                source="test",
            )
    return measure


def make_assessment(instrument: Instrument | None = None, *, by: Person | None = None, **more: Any) -> Assessment:
    return Assessment.objects.create(
        instrument=instrument or make_instrument(), by=by or make_technician(), **{"on": TODAY, **more}
    )


def make_reading(
    assessment: Assessment, key: int, value: float, *, measure: Measure | None = None, **more: Any
) -> Reading:
    return Reading.objects.create(
        assessment=assessment,
        measure=measure or make_measure(),
        spot_kind="note",
        key=key,
        value=Decimal(str(value)),
        by=assessment.by,
        **{"at": MOMENT, **more},
    )


def make_picture(name: str = "keys.jpg") -> SimpleUploadedFile:
    kept = BytesIO()
    Image.new("RGB", (40, 30), "tan").save(kept, "JPEG")
    return SimpleUploadedFile(name, kept.getvalue(), content_type="image/jpeg")


def make_quote(instrument: Instrument | None = None, *, by: Person | None = None, **more: Any) -> Quote:
    defaults: dict[str, Any] = {
        "number": next(_count),
        "vat_mode": "gross",
        "vat_percent": Decimal(20),
        "hourly_rate": Decimal(48),
        "deposit_percent": Decimal(30),
        "created_at": MOMENT,
    }
    return Quote.objects.create(
        instrument=instrument or make_instrument(), created_by=by or make_manager(), **{**defaults, **more}
    )


def make_scope(quote: Quote, position: int = 1, **more: Any) -> Scope:
    return Scope.objects.create(quote=quote, position=position, **{"title": f"Scope {position}", **more})


def make_job(instrument: Instrument | None = None, **more: Any) -> Job:
    return Job.objects.create(
        instrument=instrument or make_instrument(),
        **{
            "accepted_on": TODAY,
            "state": "in_house",
            "booked_in_on": TODAY,
            "agreed_total": Decimal("5200.00"),
            **more,
        },
    )


def make_task(job: Job | None = None, operation: Operation | None = None, **more: Any) -> Task:
    operation = operation or make_operation()
    defaults: dict[str, Any] = {
        "position": next(_count),
        "stage": operation.stage,
        "name": operation.name,
        "norm_hours": operation.hours_likely,
        "hours_likely": operation.hours_likely,
        "hours_80": operation.hours_likely * Decimal("1.34"),
        "skill": operation.skill,
        "work_place": operation.work_place,
        "wait_hours": operation.wait_hours,
    }
    return Task.objects.create(job=job or make_job(), operation=operation, **{**defaults, **more})


def make_supplier(name: str = "Felt & Shank", **more: Any) -> Supplier:
    return Supplier.objects.get_or_create(name=name, defaults={"email": "orders@feltshank.example", **more})[0]


def make_part(code: str = "hammer-set", **more: Any) -> Part:
    defaults = {
        "name": "Hammers, set",
        "unit": "set",
        "price": Decimal("412.00"),
        "lead_days": 35,
        "supplier": make_supplier(),
    }
    return Part.objects.get_or_create(code=code, defaults={**defaults, **more})[0]

"""A small catalogue that behaves like the real one, and a draft on it.

New shanks make new hanging necessary, which makes preparation and weighing-off necessary; hanging and shaping are
alternatives; bushing stands alone and needs cloth; settling tunings are done in passes.
"""

from decimal import Decimal

import pytest

from jobs.operations.models import AlternativeGroup, OperationPart
from jobs.quoting import services
from tests.factories import MOMENT, make_instrument, make_manager, make_operation, make_part


@pytest.fixture
def work(db):
    """The catalogue: code -> operation."""
    rows = [
        ("ac-shank", "action", 11, {}),
        ("ac-hbore", "action", 6, {}),
        ("ac-hang", "action", 10, {}),
        ("ac-shape", "action", 5, {}),
        ("ky-bush", "keys", 11, {"cautions": "Steam and hide glue: ventilate"}),
        ("ky-weigh", "keys", 9, {"cautions": "Lead handling rules; swarf is lead too"}),
        ("ky-repair", "keys", 0.5, {"unit": "note", "usual_grand": 6, "usual_upright": 6}),
        ("rg-fine", "regulation", 16, {"upright_factor": Decimal("0.8")}),
        ("tn-settle", "tuning", 2, {"unit": "pass", "usual_grand": 4, "usual_upright": 4, "in_passes": True}),
        ("ac-ubutt", "action", 7, {"applies_to": "upright"}),
    ]
    found = {
        code: make_operation(
            code, position=place, stage=stage, name=f"Work {code}", hours_low=Decimal(str(hours)) / 2,
            hours_likely=Decimal(str(hours)), hours_high=Decimal(str(hours)) * 2, **more,
        )
        for place, (code, stage, hours, more) in enumerate(rows)
    }  # fmt: skip
    found["ac-shank"].implies.set([found["ac-hang"]])
    found["ac-hang"].implies.set([found["ac-hbore"], found["ky-weigh"], found["rg-fine"]])
    found["ac-hang"].before.set([found["ac-hbore"], found["ac-shank"]])
    found["ky-weigh"].before.set([found["ac-hang"]])
    AlternativeGroup.objects.create(code="hammers", name="hammers").operations.set(
        [found["ac-hang"], found["ac-shape"]]
    )
    cloth = make_part("bushing-cloth", name="Bushing cloth", unit="strip", price=Decimal("9.37"))
    OperationPart.objects.create(operation=found["ky-bush"], part=cloth, quantity=Decimal(3))
    pins = make_part("key-pin", name="Key pin", unit="piece", price=Decimal("0.31"))
    OperationPart.objects.create(operation=found["ky-repair"], part=pins, quantity=Decimal(2), per_unit=True)
    return found


@pytest.fixture
def boss(db):
    return make_manager()


@pytest.fixture
def draft(work, boss):
    """A draft for an 85-note grand, its one scope still empty."""
    return services.quote_start(instrument=make_instrument(), assessment=None, by=boss, at=MOMENT)


@pytest.fixture
def scope(draft):
    """The draft's scope, holding the bushing of the keys."""
    only = draft.scopes.get()
    services.scope_write(scope=only, chosen={"ky-bush": None}, refused={}, title="Quiet keys")
    only.refresh_from_db()
    return only


@pytest.fixture
def sent(draft, scope, boss):
    """The draft, sent."""
    return services.quote_send(quote=draft, by=boss, at=MOMENT)

"""An accepted quote on a catalogue of seven operations, one of them left out.

Order: opening comes before repairing keys, that before bushing, that before weighing off; nobody wants the repair,
so bushing must still wait for the opening. Settling tunings are done in three passes after weighing off. The report
belongs to the assessment.
"""

import datetime as dt
from decimal import Decimal

import pytest

from jobs.quoting import services as quoting
from jobs.worklist.services import job_open
from tests.factories import MOMENT, TODAY, make_assessment, make_client, make_instrument, make_manager, make_operation

CLIENT = "Zoë Ferrowby 🎹"
LEAD = "Lead is poisonous: gloves, no dry sweeping, follow local rules"


@pytest.fixture
def work(db):
    """The catalogue: code -> operation."""
    rows = [
        ("in-report", "assessing", 2, {}),
        ("dm-open", "opening", 4, {}),
        ("ky-repair", "keys", 3, {}),
        ("ky-bush", "keys", 11, {"cautions": "Steam and hide glue: ventilate"}),
        ("ky-weigh", "keys", 9, {"cautions": LEAD}),
        ("tn-settle", "tuning", 2, {"unit": "pass", "usual_grand": 3, "in_passes": True, "wait_hours": 48,
                                    "wait_reason": "settling"}),
        ("cs-dust", "case", 1, {}),
    ]  # fmt: skip
    found = {
        code: make_operation(
            code, position=place, stage=stage, name=f"Work {code}", hours_low=Decimal(str(hours)) / 2,
            hours_likely=Decimal(hours), hours_high=Decimal(hours) * 2, **more,
        )
        for place, (code, stage, hours, more) in enumerate(rows)
    }  # fmt: skip
    for later, first in [
        ("dm-open", "in-report"), ("ky-repair", "dm-open"), ("ky-bush", "ky-repair"), ("ky-weigh", "ky-bush"),
        ("tn-settle", "ky-weigh"),
    ]:  # fmt: skip
        found[later].before.add(found[first])
    found["ky-bush"].implies.add(found["ky-repair"])
    found["ky-weigh"].implies.add(found["ky-bush"])
    return found


@pytest.fixture
def boss(db):
    return make_manager()


@pytest.fixture
def accepted(work, boss):
    """The quote, accepted without the repair of the keys."""
    piano = make_instrument(client=make_client(CLIENT), cautions="Weighs 310 kg: four people and a dolly")
    assessment = make_assessment(piano, finished_at=MOMENT, on=TODAY)
    quote = quoting.quote_start(instrument=piano, assessment=assessment, by=boss, at=MOMENT)
    scope = quote.scopes.get()
    chosen = dict.fromkeys(("in-report", "dm-open", "ky-weigh", "tn-settle"))
    quoting.scope_write(scope=scope, chosen=chosen, refused={"ky-repair": "keys are sound"}, title="Even keys")
    sent = quoting.quote_send(quote=quote, by=boss, at=MOMENT)
    later = MOMENT + dt.timedelta(days=2)
    quoting.quote_answer(
        quote=sent, scope=sent.scopes.get(), name=CLIENT, words="", at=later, content_hash=sent.content_hash
    )
    return sent


@pytest.fixture
def job(accepted, boss):
    return job_open(quote=accepted, by=boss, at=MOMENT + dt.timedelta(days=2))

import re
from dataclasses import replace
from datetime import date, time

import pytest
from hypothesis import given

from jobs.scheduling.calc.problem import Fixed, Job, Places, Previous, Stint
from jobs.scheduling.calc.validate import validate
from tests.jobs.scheduling.calc.shops import MONDAY, at, operation, shop, shops, technician

ONE = [operation("j1.a")]


def started(**more):
    stints = (Stint(at(0), at(0, "10:00")),)
    return shop(
        [operation("j1.a", **more.pop("task", {}))],
        now=at(1),
        previous={"j1.a": Previous("bram", more.pop("stints", stints))},
        **more,
    )


TROUBLES = [
    ("a circle", shop([operation("j1.a", after=("j1.b",)), operation("j1.b", after=("j1.a",))]),
     "need each other in a circle"),
    ("itself", shop([operation("j1.a", after=("j1.a",))]), "j1.a → j1.a need each other"),
    ("an unknown prerequisite", shop([operation("j1.a", after=("j1.z",))]), "j1.a comes after j1.z, which is not"),
    ("an unknown job", shop(ONE, jobs=[Job("j2")]), "j1.a belongs to job j1, which is not"),
    ("a skill nobody has", shop([operation("j1.a", skill="gilding")]), "j1.a needs the skill gilding, which nobody"),
    ("a skill of someone never here", shop(ONE, technicians=[technician(workdays=(6,))]), "bram never works"),
    ("hours off the grid", shop([operation("j1.a", 1.25)]), "j1.a takes 1.25 hours, which is not whole slots"),
    ("no hours", shop([operation("j1.a", 0)]), "j1.a takes 0 hours"),
    ("a negative wait", shop([operation("j1.a", wait_hours=-1)]), "j1.a has a wait of -1 hours"),
    ("no session", shop([operation("j1.a", sessions=0)]), "j1.a has 0 sessions"),
    ("more sessions than slots", shop([operation("j1.a", 1, sessions=3)]), "j1.a has 3 sessions but only 2 slots"),
    ("a session longer than a day", shop([operation("j1.a", 20, sessions=2)]), "j1.a never fits.*3 sessions or more"),
    ("too many in the house", shop([operation("j1.a"), operation("j2.a")], places=Places(1, 1, 1),
                                   jobs=[Job("j1", in_house=True), Job("j2", in_house=True)]),
     "2 instruments are in the house but there are only 1 floor places"),
    ("no floor", shop(ONE, places=Places(0, 1, 1)), "There is no floor place"),
    ("no spray room", shop([operation("j1.a", place="spray")], places=Places(1, 1, 0)), "needs the place spray"),
    ("an unknown place", shop([operation("j1.a", place="cellar")]), "j1.a asks for place cellar"),
    ("fixed for a stranger", shop([operation("j1.a", fixed=Fixed("edda", at(0)))]), "fixed for edda, who is not"),
    ("fixed for someone unskilled", shop([operation("j1.a", fixed=Fixed("bram", at(0)))],
                                         technicians=[technician("bram", ["tone"]), technician("corin")]),
     "fixed for bram, who lacks action"),
    ("fixed on a Sunday", shop([operation("j1.a", fixed=Fixed("bram", at(6)))]), "when bram is not at work"),
    ("fixed at a quarter past", shop([operation("j1.a", fixed=Fixed("bram", at(0, "08:15")))]), "not the start of a"),
    ("fixed in the past", shop([operation("j1.a", fixed=Fixed("bram", at(0)))], now=at(1)), "is past"),
    ("fixed before the parts", shop([operation("j1.a", fixed=Fixed("bram", at(0)), not_before=date(2027, 2, 1))]),
     "cannot start before Mon 1 Feb 2027"),
    ("given twice", shop([operation("j1.a"), operation("j1.a")]), "Operation j1.a is given 2 times"),
    ("leave backwards", shop(ONE, technicians=[technician(leave=((MONDAY, date(2027, 1, 1)),))]), "before it starts"),
    ("closing before opening", shop(ONE, opens=time(17)), "closes at 16:00, not after it opens"),
    ("a day of uneven slots", shop(ONE, slot_minutes=50), "not whole slots of 50 minutes"),
    ("no slot", shop(ONE, slot_minutes=0), "Slots of 0 minutes"),
    ("no working day", shop(ONE, workdays=()), "works on no day"),
    ("places below none", shop(ONE, places=Places(1, -1, 1)), "-1 bench places"),
    ("weight below none", shop(ONE, jobs=[Job("j1", -1)]), "Job j1 has weight -1"),
    ("started by a stranger", replace(started(), technicians=(technician("corin"),)), "started by bram, who is not"),
    ("started unskilled", started(task={"skill": "tone"}, technicians=[technician(), technician("e", ("tone",))]),
     "started by bram, who lacks the skill tone"),
    ("started on a leave", started(technicians=[technician(leave=((MONDAY, MONDAY),))]), "begin the leave or closure"),
    ("fewer sessions than begun", started(task={"sessions": 2}, stints=tuple(
        Stint(at(0, f"{hour:02}:00"), at(0, f"{hour:02}:30")) for hour in (8, 9, 10))), "has begun 3 sessions"),
    ("started and fixed elsewhere", started(task={"fixed": Fixed("bram", at(3))}), "take the appointment out"),
]  # fmt: skip


@pytest.mark.parametrize(("what", "problem", "sentence"), TROUBLES, ids=lambda x: x if isinstance(x, str) else "")
def test_a_trouble_is_told_in_a_sentence(what, problem, sentence):

    told = [str(trouble) for trouble in validate(problem)]
    assert any(re.search(sentence, one) for one in told), told


def test_a_trouble_names_where_it_is():
    (trouble,) = validate(shop([operation("j1.a"), operation("j2.b", 1.1)]))
    assert trouble.where == "j2.b"


def test_a_long_chain_is_not_a_circle():
    tasks = [operation(f"j1.{n}", after=(f"j1.{n - 1}",) if n else ()) for n in range(3000)]
    assert validate(shop(tasks)) == []


@given(shops())
def test_a_sound_shop_has_no_troubles(problem):
    assert validate(problem) == []

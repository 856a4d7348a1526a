"""Every row of the table of outside numbers, put to the function that computes it."""

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from jobs.assessment.calc import pitch, touch
from jobs.assessment.calc.climate import equilibrium_moisture
from jobs.assessment.calc.units import convert
from parts.scale.calc import inharmonicity as stiffness
from parts.scale.calc import tension
from tests.check_values import CheckValue, check_values
from workshop.calendar.calc.week import iso_week_label
from workshop.money.calc import Rounding, TotalLine, document_totals, vat_on_net

MM = 1000.0


def _pitch(inputs: dict[str, Any]) -> float:
    if "key_number" in inputs:
        return pitch.key_frequency(inputs["key_number"], inputs["a4_hz"])
    if "beats_flat_at_A4" in inputs:
        return pitch.cents_from_beats(-inputs["beats_flat_at_A4"], 49)
    return pitch.cents_between(inputs["hz"], inputs["ref_hz"])


def _pitch_raise(inputs: dict[str, Any]) -> float:
    if "cents_up" in inputs:
        return pitch.tension_ratio(inputs["cents_up"])
    return pitch.overpull_cents(-inputs["cents_flat"], inputs["percent"] / 100)


def _strings(inputs: dict[str, Any]) -> Any:
    if "hz" not in inputs:
        return tension.winding_factor(inputs["rho_copper"], inputs["rho_steel"])
    if "length_cm" in inputs:
        length, overall = inputs["length_cm"] * 10, inputs["overall_cm"] * 10
        pull = tension.rough_wound_tension(frequency_hz=inputs["hz"], length_mm=length, overall_mm=overall)
        return {"lbf": tension.pounds_force(pull)}
    if "core_m" in inputs:
        return _wound(inputs)
    inches = "length_in" in inputs
    pull = tension.plain_tension(
        frequency_hz=inputs["hz"],
        length_mm=inputs["length_in"] * 25.4 if inches else inputs["length_m"] * MM,
        diameter_mm=inputs["d_in"] * 25.4 if inches else inputs["d_m"] * MM,
        density=inputs["rho"],
    )
    return {"newton": pull, "lbf": tension.pounds_force(pull)}


def _wound(inputs: dict[str, Any]) -> dict[str, float]:
    string = {
        "core_mm": inputs["core_m"] * MM,
        "overall_mm": inputs["overall_m"] * MM,
        "core_density": inputs["rho_steel"],
        "winding_density": inputs["rho_copper"],
    }
    pull = tension.wound_tension(frequency_hz=inputs["hz"], length_mm=inputs["length_m"] * MM, **string)
    return {"kg_per_m": tension.wound_linear_density(**string), "newton": pull}


def _inharmonicity(inputs: dict[str, Any]) -> float:
    if "cents_mode2" in inputs:
        return stiffness.inharmonicity_from_stretch(inputs["cents_mode2"], 2)
    if "hz" not in inputs:
        return stiffness.young_constant(inputs["E_over_rho"])
    return stiffness.plain_inharmonicity(
        frequency_hz=inputs["hz"],
        length_mm=inputs["length_m"] * MM,
        diameter_mm=inputs["d_m"] * MM,
        modulus_over_density=inputs["E_over_rho"],
    )


def _touch(inputs: dict[str, Any]) -> dict[str, float]:
    if "down" in inputs:
        down, up = inputs["down"], inputs["up"]
        return {"balance": touch.balance_weight(down, up), "friction": touch.friction(down, up)}
    weighed = {name: inputs[name] for name in ("strike_weight", "key_ratio", "front_weight")}
    if "ratio" in inputs:
        parts = {"strike_ratio": inputs["ratio"], "wippen_weight": inputs["wippen"]}
        return {"balance": touch.balance_from_parts(**weighed, **parts)}
    return {
        "ratio": touch.strike_ratio(**weighed, balance=inputs["balance"], wippen_weight=inputs["wippen"]),
    }


def _moisture(inputs: dict[str, Any]) -> float:
    if "fahrenheit" in inputs:
        return equilibrium_moisture(convert(inputs["fahrenheit"], "degF", "degC"), inputs["rh_percent"])
    return equilibrium_moisture(inputs["celsius"], inputs["rh_percent"])


def _money(inputs: dict[str, Any]) -> dict[str, Any]:
    if "lines" in inputs:
        lines, rate = [Decimal(line) for line in inputs["lines"]], Decimal(inputs["rate"]) * 100
        return {
            "exact": str(sum(lines) * rate / 100),
            "invoice_level_rounded_down": str(vat_on_net(lines, rate, Rounding.DOCUMENT_DOWN)),
            "invoice_level_half_up": str(vat_on_net(lines, rate, Rounding.DOCUMENT_HALF_UP)),
            "line_level_nearest_penny": str(vat_on_net(lines, rate, Rounding.LINE_NEAREST)),
            "line_level_tenth_penny_then_down": str(vat_on_net(lines, rate, Rounding.LINE_TENTH_THEN_DOWN)),
        }
    groups = inputs.get("groups") or [(net, inputs["rate"]) for net in inputs["line_net"]]
    totals = document_totals(
        [TotalLine(Decimal(net), Decimal(rate)) for net, rate in groups],
        allowance=Decimal(inputs.get("doc_allowance", "0")),
        charge=Decimal(inputs.get("doc_charge", "0")),
        paid=Decimal(inputs.get("paid", "0")),
    )
    per_rate = [str(entry.vat) for entry in totals.rates]
    return {
        "sum_lines": str(totals.line_total),
        "without_vat": str(totals.without_vat),
        "vat": per_rate if "groups" in inputs else str(totals.vat),
        "total_vat": str(totals.vat),
        "with_vat": str(totals.with_vat),
        "due": str(totals.due),
    }


def _dates(inputs: dict[str, Any]) -> str:
    return iso_week_label(date.fromisoformat(inputs["date"]))


COMPUTED_BY: dict[str, Callable[[dict[str, Any]], Any]] = {
    "pitch": _pitch,
    "pitch raise": _pitch_raise,
    "strings": _strings,
    "inharmonicity": _inharmonicity,
    "touch": _touch,
    "wood moisture": _moisture,
    "money": _money,
    "dates": _dates,
}


@pytest.mark.parametrize("row", check_values(), ids=lambda row: row.id)
def test_we_compute_what_the_source_says(row: CheckValue):
    found = COMPUTED_BY[row.topic](row.inputs)
    expected = row.expected
    if isinstance(expected, dict):
        found = {name: found[name] for name in expected}
    if row.tolerance == 0:
        assert found == expected, row.source
    else:
        assert found == pytest.approx(expected, abs=row.tolerance, rel=0), row.source


def test_every_row_names_its_source_and_how_far_it_was_verified():
    rows = check_values()
    assert len(rows) == len({row.id for row in rows}) == 94
    for row in rows:
        assert len(row.source) > 3
        assert row.status in {"verified", "published, from memory", "computed here from the stated formula"}

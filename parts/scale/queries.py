"""Questions about wire."""

from dataclasses import dataclass
from decimal import Decimal

from parts.scale.calc.tension import WARN_SHARE, breaking_load
from parts.scale.models import WireSize


@dataclass(frozen=True)
class WireRow:
    """One size of wire with the least load in newtons at which it breaks new, and the share we work up to."""

    gauge: str
    size: str
    diameter_mm: Decimal
    min_tensile_mpa: int
    breaking_n: int
    work_up_to_n: int
    source: str


def wire_rows() -> list[WireRow]:
    """Return all sizes of wire, thinnest first. Loads are for new, clean wire, rounded down to whole newtons."""
    return [_row(size) for size in WireSize.objects.order_by("diameter_mm", "gauge")]


def _row(size: WireSize) -> WireRow:
    load = breaking_load(diameter_mm=float(size.diameter_mm), tensile_mpa=float(size.min_tensile_mpa))
    return WireRow(
        size.gauge,
        _size_words(size.size),
        size.diameter_mm,
        size.min_tensile_mpa,
        int(load),
        int(load * WARN_SHARE),
        size.source,
    )


def _size_words(size: str) -> str:
    return f"{size[:-2]}½" if size.endswith(".5") else size

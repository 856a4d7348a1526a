"""Public holidays by country and part of it."""

from collections.abc import Iterable
from datetime import date

from holidays import country_holidays

_PARTS_OF_GB = "ENG (England), WLS (Wales), SCT (Scotland) or NIR (Northern Ireland)"


def public_holidays(country: str, subdivision: str | None, years: Iterable[int]) -> dict[date, str]:
    """Return the public holidays of whole years, by date and in order of date, with their names.

    ``country`` and ``subdivision`` are ISO 3166 codes, e.g. "GB" and "ENG". Days given in lieu are included.
    One-off days come only with a fresh release of the ``holidays`` package, which this reads: the workshop
    adds its own closures besides. Raises ValueError with a sentence for an unknown country or part, and for
    Great Britain without a part: the days common to all four nations miss Easter Monday in England.
    """
    code = country.strip().upper()
    part = (subdivision or "").strip().upper().removeprefix(f"{code}-") or None
    if code == "GB" and part is None:
        raise ValueError(f"For GB say which part keeps the holidays: {_PARTS_OF_GB}.")
    try:
        found = country_holidays(code, subdiv=part, years=sorted(set(years)))
    except NotImplementedError:
        where = f"{code}-{part}" if part else code
        hint = f" The parts of GB are {_PARTS_OF_GB}." if code == "GB" else " Use ISO 3166 codes, such as GB and ENG."
        raise ValueError(f"No public holidays are known for “{where}”.{hint}") from None
    return {day: str(found[day]) for day in sorted(found)}

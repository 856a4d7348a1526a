"""What a frozen paper keeps of the shop: the lines of its letterhead as they stood on the day."""

from collections.abc import Mapping

from workshop.house.models import Shop

LINES = ("name", "street", "town", "postcode", "email", "phone", "vat_number")


def letterhead_of(shop: Shop) -> dict[str, str]:
    """Return the lines of the letterhead, ready to be stored with a paper."""
    return {line: getattr(shop, line) for line in LINES}


def shop_of_letterhead(lines: Mapping[str, str]) -> Shop:
    """Return the shop as a stored letterhead has it; an unsaved row, only to be drawn."""
    return Shop(**{line: lines.get(line, "") for line in LINES})

"""Questions about the shop."""

from workshop.house.models import Shop


def the_shop() -> Shop:
    """Return the one shop, made with its defaults on first use."""
    shop, _ = Shop.objects.get_or_create(pk=1)
    return shop

"""Questions about messages to clients."""

from django.db.models import QuerySet

from jobs.intake.models import Instrument
from jobs.updates.models import Update


def updates_to_release() -> QuerySet[Update]:
    """Return the drafts that wait for the manager, oldest first."""
    return (
        Update.objects.filter(state=Update.State.DRAFT)
        .select_related("client", "instrument", "job")
        .order_by("happened_at", "pk")
    )


def dates_to_release() -> QuerySet[Update]:
    """Return the drafts that would give a client another date."""
    return Update.objects.filter(state=Update.State.DRAFT, new_date__isnull=False)


def updates_of(instrument: Instrument) -> QuerySet[Update]:
    """Return all messages about one instrument, newest first, with what became of their mail."""
    return instrument.updates.select_related("mail", "released_by")


def updates_listed() -> QuerySet[Update]:
    """Return all messages for the list."""
    return Update.objects.select_related("client", "instrument", "mail", "released_by")

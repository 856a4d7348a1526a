"""The list of messages."""

from typing import Any

from django.urls import reverse

from jobs.updates.models import Update
from workshop.web.tables import DayColumn, ListColumn, ListTable, StateColumn

LOOKS = {"waiting": ("gone", "on its way"), "sending": ("gone", "on its way"), "sent": ("full", "sent"),
         "refused": ("wedge", "refused by the mail server"), "uncertain": ("wedge", "not certain it went"),
         "dropped": ("struck", "not sent")}  # fmt: skip


def update_look(record: Any) -> tuple[str, str]:
    """Return mark and word of a message, with what became of its mail."""
    if record.state == Update.State.DRAFT:
        return "pin", "to read and send"
    if record.state == Update.State.DROPPED:
        return "struck", "not sent"
    return LOOKS[record.mail.state] if record.mail else ("gone", "released")


class UpdateTable(ListTable):
    """Messages, newest first."""

    what = "Messages"
    file_name = "messages"
    nothing = "No message yet. Drafts come by themselves from what happens."
    row_head = "subject"
    order_words = {"happened_at": ("oldest first", "newest first")}

    happened_at = DayColumn(verbose_name="What happened")
    client = ListColumn(order_by=("client__name",))
    instrument = ListColumn(order_by=("instrument__number",), wide=True)
    subject = ListColumn(linkify=lambda record: reverse("update-show", args=[record.pk]))
    released_at = DayColumn(verbose_name="Released", wide=True)
    state = StateColumn(look=update_look)

    class Meta(ListTable.Meta):
        model = Update
        fields = ("happened_at", "client", "instrument", "subject", "released_at", "state")
        order_by = ("-happened_at",)

"""Mail on its way out."""

from django.db import models


class Mail(models.Model):
    """One message to one address, written in the same transaction as what it tells about.

    ``waiting`` may be sent; ``sending`` is marked before SMTP is spoken to; a row found in that state after a
    crash becomes ``uncertain`` and is shown to a person, because over SMTP nobody can know.
    """

    class State(models.TextChoices):
        WAITING = "waiting", "waits to go"
        SENDING = "sending", "going"
        SENT = "sent", "sent"
        REFUSED = "refused", "refused by the mail server"
        UNCERTAIN = "uncertain", "not certain it went"
        DROPPED = "dropped", "not to be sent"

    to = models.EmailField()
    to_name = models.CharField(max_length=120, blank=True)
    subject = models.CharField(max_length=200)
    text = models.TextField()
    html = models.TextField(blank=True)
    message_id = models.CharField(max_length=200, unique=True)
    attachment_name = models.CharField(max_length=120, blank=True)
    attachment = models.BinaryField(null=True, blank=True)
    state = models.CharField(max_length=10, choices=State.choices, default=State.WAITING)
    attempts = models.PositiveSmallIntegerField(default=0)
    trouble = models.CharField(max_length=300, blank=True)
    written_at = models.DateTimeField()
    not_before = models.DateTimeField(null=True, blank=True, help_text="After a temporary refusal: try again then.")
    marked_at = models.DateTimeField(null=True, blank=True, help_text="When it was last taken in hand.")
    sent_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["id"]
        indexes = [models.Index(fields=["state", "id"], name="mail_by_state")]

    def __str__(self) -> str:
        return f"{self.subject} to {self.to}"

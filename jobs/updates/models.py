"""Messages to the client about something that really happened."""

from django.db import models

from jobs.intake.models import Client, Instrument
from jobs.worklist.models import Job
from workshop.mail.models import Mail
from workshop.people.models import Person


class Update(models.Model):
    class Event(models.TextChoices):
        QUOTE_SENT = "quote_sent", "quote sent"
        ACCEPTED = "accepted", "accepted"
        BOOKED_IN = "booked_in", "booked in"
        OPENED_UP = "opened_up", "opened up"
        VARIATION = "variation", "variation to answer"
        PARTS_HERE = "parts_here", "parts here"
        STAGE_DONE = "stage_done", "stage done"
        DATE_MOVED = "date_moved", "date moved"
        INVOICE = "invoice", "invoice"
        READY = "ready", "ready"

    class State(models.TextChoices):
        DRAFT = "draft", "to read and send"
        RELEASED = "released", "released"
        DROPPED = "dropped", "not sent"

    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="updates")
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="updates")
    job = models.ForeignKey(Job, on_delete=models.PROTECT, null=True, blank=True, related_name="updates")
    event = models.CharField(max_length=12, choices=Event.choices)
    event_key = models.CharField(max_length=80, unique=True, help_text="The same event never makes two drafts.")
    happened_at = models.DateTimeField()
    subject = models.CharField(max_length=200)
    body = models.TextField()
    state = models.CharField(max_length=10, choices=State.choices, default=State.DRAFT)
    written_from = models.CharField(max_length=200, blank=True, help_text="What it was written from.")
    new_date = models.DateField(null=True, blank=True, help_text="The date this message gives, when it is released.")
    reason = models.CharField(max_length=200, blank=True, help_text="Why the date moves, as the client reads it.")
    released_at = models.DateTimeField(null=True, blank=True)
    released_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    mail = models.OneToOneField(Mail, on_delete=models.PROTECT, null=True, blank=True, related_name="update")

    class Meta:
        ordering = ["-happened_at", "-id"]

    def __str__(self) -> str:
        return self.subject

"""Private links of clients."""

from django.db import models

from jobs.intake.models import Client, Instrument


class ClientLink(models.Model):
    """A key to one instrument's papers. Only the hash is kept: the key itself is in the client's letter alone."""

    client = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="links")
    instrument = models.ForeignKey(Instrument, on_delete=models.CASCADE, related_name="links")
    token_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    first_used_at = models.DateTimeField(null=True, blank=True)
    last_used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-made_at"]

    def __str__(self) -> str:
        return f"link of {self.client} to {self.instrument}"


class PortalSession(models.Model):
    """A browser that came in by a link; its cookie is kept as a hash too."""

    link = models.ForeignKey(ClientLink, on_delete=models.CASCADE, related_name="sessions")
    cookie_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()

    class Meta:
        ordering = ["-made_at"]

    def __str__(self) -> str:
        return f"session of {self.link}"

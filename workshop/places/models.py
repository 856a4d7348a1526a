"""Where work is done, and how much each place holds."""

from django.db import models


class Place(models.Model):
    class Kind(models.TextChoices):
        BENCH = "bench", "bench"
        FLOOR = "floor", "floor place"
        SPRAY = "spray", "spray room"

    kind = models.CharField(max_length=8, choices=Kind.choices)
    name = models.CharField(max_length=60, unique=True)
    holds = models.PositiveSmallIntegerField(default=1, help_text="How many at a time.")
    in_use = models.BooleanField(default=True)

    class Meta:
        ordering = ["kind", "name"]

    def __str__(self) -> str:
        return self.name

"""Days the shop is closed besides public holidays."""

from django.db import models
from django.db.models import F, Q


class Closure(models.Model):
    first_day = models.DateField()
    last_day = models.DateField()
    reason = models.CharField(max_length=60, default="closed")

    class Meta:
        ordering = ["first_day"]
        constraints = [
            models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="closure_ends_after_it_begins"),
        ]

    def __str__(self) -> str:
        return f"{self.reason}, {self.first_day} to {self.last_day}"

"""Wire that can be bought, with its least strength."""

from django.db import models
from django.db.models import Q


class WireSize(models.Model):
    gauge = models.CharField(max_length=40, help_text="Name of the gauge the size number belongs to.")
    size = models.CharField(max_length=8)
    diameter_mm = models.DecimalField(max_digits=6, decimal_places=4)
    min_tensile_mpa = models.PositiveIntegerField(help_text="Least tensile strength, MPa.")
    source = models.CharField(max_length=200)

    class Meta:
        ordering = ["diameter_mm"]
        constraints = [
            models.UniqueConstraint(fields=["gauge", "size"], name="wire_size_once_per_gauge"),
            models.CheckConstraint(condition=Q(diameter_mm__gt=0), name="wire_has_a_diameter"),
        ]

    def __str__(self) -> str:
        return f"{self.gauge} {self.size}, {self.diameter_mm} mm"

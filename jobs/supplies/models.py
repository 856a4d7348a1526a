"""What the tasks of a job need."""

from decimal import Decimal

from django.db import models
from django.db.models import Q

from jobs.worklist.models import Task
from parts.catalogue.models import Part
from parts.orders.models import OrderLine


class Need(models.Model):
    class State(models.TextChoices):
        OPEN = "open", "to order"
        ORDERED = "ordered", "ordered"
        HERE = "here", "here"
        NOT_NEEDED = "not_needed", "not needed"

    task = models.ForeignKey(Task, on_delete=models.PROTECT, related_name="needs")
    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="needs")
    quantity = models.DecimalField(max_digits=9, decimal_places=2, default=Decimal(1))
    measure = models.CharField(max_length=200, blank=True, help_text="Measured sizes.")
    state = models.CharField(max_length=10, choices=State.choices, default=State.OPEN)
    order_line = models.ForeignKey(OrderLine, on_delete=models.SET_NULL, null=True, blank=True, related_name="needs")
    from_shelf = models.BooleanField(default=False)
    here_on = models.DateField(null=True, blank=True)
    dropped_because = models.CharField(max_length=200, blank=True, help_text="Why it is not needed any more.")

    class Meta:
        ordering = ["task", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(quantity__gt=0), name="need_has_a_quantity"),
            models.UniqueConstraint(fields=["task", "part"], name="part_once_per_task"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} {self.part.unit} {self.part}"

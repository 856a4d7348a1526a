"""Purchase orders and what arrived."""

from decimal import Decimal

from django.db import models
from django.db.models import Q

from parts.catalogue.models import Part, Supplier
from workshop.people.models import Person


class PurchaseOrder(models.Model):
    class State(models.TextChoices):
        DRAFT = "draft", "draft"
        SENT = "sent", "sent"
        CLOSED = "closed", "all here"
        CANCELLED = "cancelled", "called off"

    number = models.PositiveIntegerField(unique=True, null=True, blank=True, help_text="Given when sent.")
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="orders")
    state = models.CharField(max_length=10, choices=State.choices, default=State.DRAFT)
    note = models.TextField(blank=True)
    created_at = models.DateTimeField()
    created_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    sent_at = models.DateTimeField(null=True, blank=True)
    expected_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["-created_at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=["draft", "cancelled"]) | Q(number__isnull=False), name="sent_order_has_a_number"
            ),
        ]

    def __str__(self) -> str:
        return f"order {self.number}" if self.number else "draft order"


class OrderLine(models.Model):
    order = models.ForeignKey(PurchaseOrder, on_delete=models.CASCADE, related_name="lines")
    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="order_lines")
    name = models.CharField(max_length=120, help_text="What the part was called when it was ordered.")
    quantity = models.DecimalField(max_digits=9, decimal_places=2)
    price = models.DecimalField(max_digits=9, decimal_places=2, default=Decimal(0))
    measure = models.CharField(max_length=200, blank=True, help_text="Measured sizes, as the supplier needs them.")
    for_words = models.CharField(max_length=120, blank=True, help_text="For which instrument, in words.")
    expected_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(condition=Q(quantity__gt=0), name="order_line_has_a_quantity"),
            models.CheckConstraint(condition=Q(price__gte=0), name="order_line_price_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} {self.part.unit} {self.name}"


class Receipt(models.Model):
    """What arrived for one line on one day; may be a part of what was ordered."""

    line = models.ForeignKey(OrderLine, on_delete=models.PROTECT, related_name="receipts")
    quantity = models.DecimalField(max_digits=9, decimal_places=2)
    on = models.DateField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["on", "id"]
        constraints = [models.CheckConstraint(condition=Q(quantity__gt=0), name="receipt_has_a_quantity")]

    def __str__(self) -> str:
        return f"{self.quantity} on {self.on}"

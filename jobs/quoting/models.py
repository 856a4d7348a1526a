"""Quotes: scopes side by side, frozen when sent, accepted once."""

from decimal import Decimal

from django.db import models
from django.db.models import Q

from jobs.assessment.models import Assessment
from jobs.intake.models import Instrument
from jobs.operations.models import Operation, Stage
from workshop.house.models import Shop
from workshop.people.models import Person


class Quote(models.Model):
    class State(models.TextChoices):
        DRAFT = "draft", "draft"
        SENT = "sent", "sent"
        ACCEPTED = "accepted", "accepted"
        DECLINED = "declined", "declined"
        LAPSED = "lapsed", "lapsed"

    number = models.PositiveIntegerField(unique=True)
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="quotes")
    assessment = models.ForeignKey(Assessment, on_delete=models.PROTECT, null=True, blank=True, related_name="quotes")
    state = models.CharField(max_length=10, choices=State.choices, default=State.DRAFT)
    letter = models.TextField(blank=True, help_text="Opening words of the letter.")
    vat_mode = models.CharField(max_length=8, choices=Shop.VatMode.choices)
    vat_percent = models.DecimalField(max_digits=5, decimal_places=2)
    hourly_rate = models.DecimalField(max_digits=8, decimal_places=2)
    deposit_percent = models.DecimalField(max_digits=5, decimal_places=2)
    created_at = models.DateTimeField()
    created_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    sent_at = models.DateTimeField(null=True, blank=True)
    sent_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    valid_until = models.DateField(null=True, blank=True)
    content_hash = models.CharField(max_length=64, blank=True)

    class Meta:
        ordering = ["-number"]
        constraints = [
            models.CheckConstraint(
                condition=Q(state="draft") | (Q(sent_at__isnull=False) & ~Q(content_hash="")),
                name="sent_quote_is_frozen",
            ),
        ]

    def __str__(self) -> str:
        return f"quote {self.number}"


class Scope(models.Model):
    """One alternative of a quote. The figures are written when the quote is sent and never change after."""

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, related_name="scopes")
    position = models.PositiveSmallIntegerField()
    title = models.CharField(max_length=80)
    notice = models.CharField(max_length=300, blank=True, help_text="What the owner would notice.")
    stays_open = models.CharField(max_length=300, blank=True, help_text="What this alternative leaves.")
    hours_likely = models.DecimalField(max_digits=8, decimal_places=2, null=True, blank=True)
    hours_80 = models.DecimalField(max_digits=8, decimal_places=2, null=True, blank=True)
    net_likely = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)
    vat_likely = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)
    total_likely = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)
    total_80 = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)
    ready_on = models.DateField(
        null=True, blank=True, help_text="Home again, at the chance below, if accepted by then."
    )
    ready_chance = models.DecimalField(max_digits=3, decimal_places=2, null=True, blank=True)
    answer_by = models.DateField(
        null=True, blank=True, help_text="The last day of an answer for which the day above holds."
    )

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(fields=["quote", "position"], name="scope_position_once"),
            models.CheckConstraint(condition=Q(position__gte=1) & Q(position__lte=5), name="one_to_five_scopes"),
        ]

    def __str__(self) -> str:
        return f"{self.position} {self.title}"


class ScopeOperation(models.Model):
    """One operation in a scope, or one refused from it."""

    class Because(models.TextChoices):
        CHOSEN = "chosen", "chosen"
        IMPLIED = "implied", "needed by other work"
        REFUSED = "refused", "left out"

    scope = models.ForeignKey(Scope, on_delete=models.CASCADE, related_name="operations")
    operation = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="+")
    position = models.PositiveSmallIntegerField(default=0)
    because = models.CharField(max_length=8, choices=Because.choices)
    reason = models.CharField(max_length=300, blank=True, help_text="Why it is here, or why it was left out.")
    quantity = models.DecimalField(max_digits=7, decimal_places=1, default=Decimal(1))
    norm_hours = models.DecimalField(max_digits=8, decimal_places=2, default=Decimal(0))
    hours_likely = models.DecimalField(max_digits=8, decimal_places=2, default=Decimal(0))
    hours_80 = models.DecimalField(max_digits=8, decimal_places=2, default=Decimal(0))
    words = models.CharField(max_length=300, blank=True, help_text="As printed; frozen when sent.")

    class Meta:
        ordering = ["position", "id"]
        constraints = [models.UniqueConstraint(fields=["scope", "operation"], name="operation_once_per_scope")]

    def __str__(self) -> str:
        return f"{self.operation} ({self.because})"


class ScopeCharge(models.Model):
    """One amount of a scope: labour by stage, parts, materials, outwork, transport."""

    class Kind(models.TextChoices):
        LABOUR = "labour", "Work"
        PARTS = "parts", "Parts and materials"
        OUTWORK = "outwork", "Work by other houses"
        TRANSPORT = "transport", "Transport"

    scope = models.ForeignKey(Scope, on_delete=models.CASCADE, related_name="charges")
    position = models.PositiveSmallIntegerField(default=0)
    kind = models.CharField(max_length=10, choices=Kind.choices)
    stage = models.CharField(max_length=12, choices=Stage.choices, blank=True)
    words = models.CharField(max_length=200)
    net = models.DecimalField(max_digits=10, decimal_places=2)
    gross = models.DecimalField(max_digits=10, decimal_places=2)
    vat_percent = models.DecimalField(max_digits=5, decimal_places=2)
    by_hand = models.BooleanField(
        default=False, help_text="Entered by the manager; kept when the rest is worked out anew."
    )

    class Meta:
        ordering = ["position", "id"]

    def __str__(self) -> str:
        return f"{self.words}: {self.gross}"


class Answer(models.Model):
    """The client's one answer to a quote: never changed, never deleted."""

    class Kind(models.TextChoices):
        ACCEPTED = "accepted", "accepted"
        DECLINED = "declined", "declined"

    quote = models.OneToOneField(Quote, on_delete=models.PROTECT, related_name="answer")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    scope = models.ForeignKey(Scope, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    name = models.CharField(max_length=120, help_text="Name typed by the person who answered.")
    words = models.TextField(blank=True)
    at = models.DateTimeField()
    via = models.CharField(max_length=40, default="private link")
    content_hash = models.CharField(max_length=64, help_text="Of the quote as it was read when answered.")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=~Q(kind="accepted") | Q(scope__isnull=False), name="acceptance_names_a_scope"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quote} {self.kind} by {self.name}"


class QuotePaper(models.Model):
    """What a sent quote says besides its scopes: to whom, about what, findings, cautions. Never changed after."""

    quote = models.OneToOneField(Quote, on_delete=models.PROTECT, related_name="paper")
    words = models.JSONField(help_text="As printed; part of the content hash.")

    class Meta:
        ordering = ["quote"]

    def __str__(self) -> str:
        return f"{self.quote} as sent"


class TalkWish(models.Model):
    """A client who would like to talk before deciding; open until somebody has telephoned."""

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, related_name="talk_wishes")
    words = models.TextField(blank=True)
    at = models.DateTimeField()
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["at", "id"]

    def __str__(self) -> str:
        return f"{self.quote}: would like to talk"

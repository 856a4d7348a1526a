"""Input checks for jobs, tasks and variations."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone

from jobs.operations.models import Operation
from jobs.worklist.models import Job, Task

MOST_UNITS = 500


class DayForm(forms.Form):
    """A day something happened."""

    on = forms.DateField(
        label="Day",
        initial=timezone.localdate,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": "Write the day as a date, such as 2027-01-11.", "required": "Write the day."},
    )

    def clean_on(self) -> Any:
        """Refuse a day that is still to come."""
        day = self.cleaned_data["on"]
        if day > timezone.localdate():
            raise forms.ValidationError("That day is still to come: note it when it has happened.")
        return day


class ReturnForm(DayForm):
    """The day an instrument goes home; an open balance needs a reason."""

    in_spite_of_balance = forms.CharField(
        label="It may go home although money is open, because …", max_length=200, required=False
    )


class AgreedForm(forms.Form):
    """What exactly was agreed for one task."""

    agreed = forms.CharField(
        label="What exactly was agreed", widget=forms.Textarea(attrs={"rows": 4}), max_length=2000, required=False
    )


class FoundForm(forms.Form):
    """What was found on opening up, and which tasks it stops."""

    found = forms.CharField(
        label="What was found",
        widget=forms.Textarea(attrs={"rows": 4}),
        max_length=2000,
        help_text="In a sentence or two the owner will read: what, where, how bad.",
        error_messages={"required": "Say in a sentence what was found, where, and how bad it is."},
    )
    affects = forms.ModelMultipleChoiceField(
        queryset=Task.objects.none(),
        label="Which tasks must wait for the answer",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Only these stop; everything else goes on.",
    )

    def __init__(self, job: Job, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        waiting = job.tasks.filter(state__in=(Task.State.TO_COME, Task.State.AT_WORK))
        self.fields["affects"].queryset = waiting  # type: ignore[attr-defined]


class WordsForm(forms.Form):
    """What is proposed, in words the owner reads."""

    words = forms.CharField(
        label="What we propose",
        widget=forms.Textarea(attrs={"rows": 4}),
        max_length=4000,
        error_messages={"required": "Write what you propose; the owner reads it."},
    )


class PriceChoices:
    """The operations a variation adds and leaves out, read from what was posted; nothing typed is lost.

    ``leaves``: code -> "out", or "bought" where its parts are bought already; ``seen``: codes of the proposals that
    stood on the page.
    """

    def __init__(self, data: Mapping[str, Any] | None, operations: Iterable[Operation]) -> None:
        self.adds: dict[str, Decimal] = {}
        self.leaves: dict[str, str] = {}
        self.counts: dict[str, str] = {}
        self.seen: set[str] = set()
        self.errors: list[str] = []
        for operation in operations if data is not None else ():
            self._read(operation, data or {})

    def _read(self, operation: Operation, data: Mapping[str, Any]) -> None:
        code = operation.code
        text = str(data.get(f"count-{code}", "")).strip().replace(",", ".")
        self.counts[code] = text
        if data.get(f"out-{code}") in ("out", "bought"):
            self.leaves[code] = data[f"out-{code}"]
        if data.get(f"seen-{code}"):
            self.seen.add(code)
        if not text:
            return
        try:
            count = Decimal(text)
        except ArithmeticError:
            count = Decimal(0)
        if not count.is_finite() or not Decimal("0.1") <= count <= MOST_UNITS:
            self.errors.append(f"{operation.name}: “{text[:20]}” is not a count between 0.1 and {MOST_UNITS}.")
        else:
            self.adds[code] = count

    @property
    def bought(self) -> list[str]:
        """Return what is left out although its parts are bought."""
        return [code for code, how in self.leaves.items() if how == "bought"]


class SendForm(forms.Form):
    """Freezing a variation: the new day, if it changes."""

    ready_on = forms.DateField(
        label="Home again, if agreed",
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        help_text="Empty where the day does not change.",
        error_messages={"invalid": "Write the day as a date, such as 2027-01-11."},
    )


class AnswerForm(forms.Form):
    """An answer given by letter, kept by the manager."""

    answer = forms.ChoiceField(
        choices=[("agree", "agreed"), ("decline", "declined")],
        widget=forms.RadioSelect,
        error_messages={"required": "Say which it was: agreed or declined."},
    )
    name = forms.CharField(
        label="Who answered",
        max_length=120,
        help_text="And how, such as: Mrs Ferrowby, letter of 11 January.",
        error_messages={"required": "Write who answered, and how."},
    )
    content_hash = forms.CharField(widget=forms.HiddenInput, max_length=64)

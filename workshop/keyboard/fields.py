"""Form fields for notes: a name such as A4 or C♯5, or a number on the 1 to 88 count."""

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from workshop.keyboard.calc.notes import HIGHEST_KEY, LOWEST_KEY, key_name, key_number


def _key(text: str) -> int:
    try:
        key = key_number(text)
    except ValueError as error:
        raise ValidationError(str(error)) from error
    if not LOWEST_KEY <= key <= HIGHEST_KEY:
        raise ValidationError(
            f"“{text}” lies outside every piano: write a note from {key_name(LOWEST_KEY)} to {key_name(HIGHEST_KEY)}, "
            "or a key number up to 88."
        )
    return key


class KeyField(forms.CharField):
    """One note, kept as its key number; None when left empty."""

    def __init__(self, **more: Any) -> None:
        more.setdefault("max_length", 12)
        super().__init__(**more)

    def to_python(self, value: Any) -> Any:
        """Return the key number. Raises ValidationError with a sentence."""
        text = super().to_python(value)
        return None if not text else _key(text)

    def run_validators(self, value: Any) -> None:
        """Check the length of what was typed only; the key itself is checked when it is read."""

    def clean(self, value: Any) -> Any:
        """Return the key number, or None. Raises ValidationError with a sentence."""
        if isinstance(value, str) and self.max_length and len(value.strip()) > self.max_length:
            raise ValidationError("That is too long for a note. Write a name such as A4, or a key number such as 49.")
        return super().clean(value)

    def prepare_value(self, value: Any) -> Any:
        """Show a key number as its note name."""
        return key_name(value) if isinstance(value, int) else value


class KeysField(forms.CharField):
    """Several notes parted by commas or spaces, kept as a sorted list of key numbers."""

    def to_python(self, value: Any) -> Any:
        """Return the key numbers. Raises ValidationError with a sentence."""
        text = super().to_python(value) or ""
        return sorted({_key(part) for part in re.split(r"[,;\s]+", text) if part})

    def run_validators(self, value: Any) -> None:
        """Leave the list alone: each key is checked when it is read."""

    def prepare_value(self, value: Any) -> Any:
        """Show key numbers as note names."""
        return ", ".join(key_name(key) for key in value) if isinstance(value, list) else value

"""What a form says of its own accord: sentences that tell how to mend it, in place of the library's.

A field with its own ``error_messages`` keeps them; these are the words of every other field.
"""

from django import forms
from django.core import validators
from django.forms import models

A_CHOICE = "“%(value)s” is not one of the choices here. Choose again."
A_RECORD = "That is not one of the choices here. Choose again."
_WORDS: dict[type[forms.Field], dict[str, str]] = {
    forms.Field: {"required": "Write something here; it cannot stay empty."},
    forms.IntegerField: {"required": "Write a number.", "invalid": "Write a whole number in figures, such as 30."},
    forms.FloatField: {"required": "Write a number.", "invalid": "Write a number in figures, such as 12.5."},
    forms.DecimalField: {"required": "Write a number.", "invalid": "Write a number in figures, such as 12.5."},
    forms.DateField: {"required": "Write the day.", "invalid": "That is not a day. Write it as 2027-01-11."},
    forms.TimeField: {"required": "Write the time.", "invalid": "That is not a time. Write it as 08:30."},
    forms.EmailField: {"invalid": "That is not an e-mail address; it looks like name@place.example."},
    forms.ChoiceField: {"required": "Choose one.", "invalid_choice": A_CHOICE},
    forms.MultipleChoiceField: {"required": "Choose at least one.", "invalid_choice": A_CHOICE},
    forms.TypedMultipleChoiceField: {"required": "Choose at least one.", "invalid_choice": A_CHOICE},
    models.ModelChoiceField: {"required": "Choose one.", "invalid_choice": A_RECORD},
    models.ModelMultipleChoiceField: {"required": "Choose at least one.", "invalid_choice": A_RECORD},
    forms.FileField: {"required": "Choose a file first.", "empty": "That file is empty. Choose another."},
}
_CHECKS: dict[type[validators.BaseValidator], str] = {
    validators.MaxLengthValidator: "That is too long: at most %(limit_value)d characters, these are %(show_value)d.",
    validators.MinLengthValidator: "That is too short: at least %(limit_value)d characters, these are %(show_value)d.",
    validators.MaxValueValidator: "That is too much: %(limit_value)s at most.",
    validators.MinValueValidator: "That is too little: %(limit_value)s at least.",
}


def forms_speak() -> None:
    """Give every form field and check the house's words. Called once, when the app is ready."""
    for field, said in _WORDS.items():
        field.default_error_messages = {**field.default_error_messages, **said}
    for check, sentence in _CHECKS.items():
        check.message = sentence
    validators.validate_email.message = _WORDS[forms.EmailField]["invalid"]
    slug = "Use letters, figures and hyphens, and no spaces: hammer-set, say."
    validators.validate_slug.message = slug
    forms.SlugField.default_validators = [validators.validate_slug]
    validators.DecimalValidator.messages = {
        **validators.DecimalValidator.messages,
        "invalid": "Write a number in figures, such as 12.5.",
        "max_digits": "That number is too long: %(max)s figures at most.",
        "max_decimal_places": "Too many figures after the point: %(max)s at most.",
        "max_whole_digits": "That number is too large: %(max)s figures before the point at most.",
    }

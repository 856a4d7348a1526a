"""Input checks for people and their leave."""

from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.password_validation import validate_password
from django.http import HttpRequest

from workshop.people.models import Leave, Person, Skill

WEEKDAYS = [
    (0, "Monday"),
    (1, "Tuesday"),
    (2, "Wednesday"),
    (3, "Thursday"),
    (4, "Friday"),
    (5, "Saturday"),
    (6, "Sunday"),
]


class SignInForm(AuthenticationForm):
    """Name and password."""

    error_messages = {
        "invalid_login": "Name and password do not belong together. Look at both, capitals count in the password.",
        "inactive": "This person has left. Ask the manager.",
    }

    def __init__(self, request: HttpRequest | None = None, *args: Any, **kwargs: Any) -> None:
        super().__init__(request, *args, **kwargs)
        self.fields["username"].label = "Your name here"
        self.fields["username"].error_messages["required"] = "Write the name you sign in with."
        self.fields["password"].error_messages["required"] = "Write your password."


class WeekdaysField(forms.TypedMultipleChoiceField):
    """Weekdays to tick, kept as a list of numbers, Monday 0."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(choices=WEEKDAYS, coerce=int, widget=forms.CheckboxSelectMultiple, **kwargs)


class PersonForm(forms.Form):
    """One person of the house."""

    first_name = forms.CharField(label="Name", max_length=60, error_messages={"required": "Write the person’s name."})
    username = forms.SlugField(
        label="Name to sign in with",
        max_length=60,
        error_messages={
            "required": "Write a name to sign in with.",
            "invalid": "Use letters, figures and hyphens only.",
        },
    )
    email = forms.EmailField(label="E-mail", required=False)
    role = forms.ChoiceField(choices=Person.Role.choices, widget=forms.RadioSelect)
    skills = forms.ModelMultipleChoiceField(Skill.objects.all(), widget=forms.CheckboxSelectMultiple, required=False)
    workdays = WeekdaysField(label="Works on", required=False)
    on_the_bench = forms.BooleanField(label="is given work in the plan", required=False)
    is_active = forms.BooleanField(label="works here now", required=False, help_text="Unticked: signed out at once.")
    password = forms.CharField(
        label="New password",
        required=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text="At least twelve characters. Leave empty to keep the old one.",
    )

    def clean_password(self) -> str:
        """Refuse a password that is easily guessed."""
        password: str = self.cleaned_data["password"]
        if password:
            validate_password(password)
        return password


class LeaveForm(forms.ModelForm):
    """Days somebody is away."""

    class Meta:
        model = Leave
        fields = ["first_day", "last_day", "reason"]
        labels = {"first_day": "First day away", "last_day": "Last day away"}
        widgets = {
            "first_day": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "last_day": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        }

    def clean(self) -> dict[str, Any]:
        """Refuse days that end before they begin."""
        data = super().clean() or {}
        first, last = data.get("first_day"), data.get("last_day")
        if first and last and last < first:
            self.add_error("last_day", "The last day lies before the first: change one of the two.")
        return data

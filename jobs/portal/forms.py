"""What a client types: a choice and a name."""

from django import forms

from jobs.quoting.models import Quote

TALK = "talk"
DECLINE = "decline"


class ChooseForm(forms.Form):
    """Which way to go on; nothing is agreed by it."""

    way = forms.ChoiceField(widget=forms.RadioSelect, label="Your decision")
    words = forms.CharField(
        widget=forms.Textarea(attrs={"rows": 3}),
        label="Anything you would like to say or ask",
        required=False,
        max_length=2000,
    )

    def __init__(self, quote: Quote, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        ways = [(str(scope.pk), f"{scope.position}. {scope.title}") for scope in quote.scopes.order_by("position")]
        self.fields["way"].choices = [  # type: ignore[attr-defined]
            *ways,
            (TALK, "I would like to talk first"),
            (DECLINE, "I do not want to go on"),
        ]
        self.fields["way"].error_messages["required"] = "Choose one of the ways, or that you would like to talk first."


class NameForm(forms.Form):
    """The name of the person who agrees or declines."""

    name = forms.CharField(
        label="Your name",
        max_length=120,
        help_text="Typed here it stands for your signature; we keep it with the day and hour.",
        error_messages={"required": "Write your name, so that we know who answered."},
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )
    content_hash = forms.CharField(widget=forms.HiddenInput, max_length=64)

"""Input checks for messages."""

from django import forms

from jobs.updates.models import Update


class UpdateForm(forms.Form):
    """The words of a message; greeting, link and signature are added when it goes."""

    subject = forms.CharField(max_length=200, error_messages={"required": "A message needs a subject."})
    body = forms.CharField(
        label="The message",
        max_length=6000,
        widget=forms.Textarea(attrs={"rows": 9}),
        error_messages={"required": "Write what happened, in a few plain words."},
    )


class NewUpdateForm(UpdateForm):
    """A message the manager writes about something that happened."""

    event = forms.ChoiceField(label="What happened", choices=Update.Event.choices, initial=Update.Event.STAGE_DONE)

    field_order = ["event", "subject", "body"]

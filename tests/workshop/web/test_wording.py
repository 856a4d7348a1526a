"""What forms say of their own accord: how to mend it, in the words of the house."""

import datetime as dt

import pytest
from django import forms

from workshop.models import Person


def said(field, value):
    class One(forms.Form):
        asked = field

    form = One({} if value is None else {"asked": value})
    return form.errors.get("asked", [])


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        (forms.CharField(), "", "Write something here; it cannot stay empty."),
        (forms.CharField(max_length=3), "abcd", "That is too long: at most 3 characters, these are 4."),
        (forms.IntegerField(), "", "Write a number."),
        (forms.IntegerField(), "x", "Write a whole number in figures, such as 30."),
        (forms.IntegerField(max_value=9), "10", "That is too much: 9 at most."),
        (forms.DecimalField(min_value=1), "0", "That is too little: 1 at least."),
        (forms.DecimalField(), "x", "Write a number in figures, such as 12.5."),
        (forms.DecimalField(max_digits=3, decimal_places=1), "1.25", "Too many figures after the point: 1 at most."),
        (forms.DateField(), "", "Write the day."),
        (forms.DateField(), "soon", "That is not a day. Write it as 2027-01-11."),
        (forms.TimeField(), "late", "That is not a time. Write it as 08:30."),
        (forms.EmailField(), "x", "That is not an e-mail address; it looks like name@place.example."),
        (forms.SlugField(), "a b", "Use letters, figures and hyphens, and no spaces: hammer-set, say."),
        (forms.ChoiceField(choices=[("a", "a")]), "", "Choose one."),
        (forms.ChoiceField(choices=[("a", "a")]), "b", "“b” is not one of the choices here. Choose again."),
        (forms.MultipleChoiceField(choices=[("a", "a")]), [], "Choose at least one."),
        (forms.FileField(), None, "Choose a file first."),
    ],
)
def test_a_form_says_how_to_mend_it(field, value, sentence):
    assert said(field, value) == [sentence]


@pytest.mark.django_db
def test_a_choice_among_records_speaks_so_too():
    field = forms.ModelChoiceField(Person.objects.all())
    assert said(field, "99") == ["That is not one of the choices here. Choose again."]


def test_a_field_with_words_of_its_own_keeps_them():
    assert said(forms.DateField(error_messages={"required": "Write the date you give."}), "") == [
        "Write the date you give."
    ]
    assert said(forms.DateField(), dt.date(2027, 1, 11)) == []

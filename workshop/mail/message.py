"""One name, three templates: subject, text and HTML of a message."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.template.loader import render_to_string


@dataclass(frozen=True)
class Message:
    """What a message says, ready to be kept; ``subject`` is one line."""

    subject: str
    text: str
    html: str


def make_message(name: str, context: Mapping[str, Any]) -> Message:
    """Return the message made from ``emails/<name>-subject.txt``, ``-text.txt`` and ``-html.html``.

    Raises TemplateDoesNotExist when one of the three is missing.
    """
    given = dict(context)
    subject = " ".join(render_to_string(f"emails/{name}-subject.txt", given).split())
    text = render_to_string(f"emails/{name}-text.txt", given).strip() + "\n"
    html = render_to_string(f"emails/{name}-html.html", given)
    return Message(subject, text, html)

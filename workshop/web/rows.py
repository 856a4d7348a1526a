"""A row is checked before it is saved; what is wrong with it becomes sentences."""

from django.core.exceptions import ValidationError
from django.db.models import Model

from workshop.web.errors import Refused


def row_check(row: Model) -> None:
    """Check a row as ``full_clean`` does. Raises Refused with the sentences of what is wrong, field by field."""
    try:
        row.full_clean()
    except ValidationError as error:
        raise Refused(" ".join(_sentences(row, error))) from error


def _sentences(row: Model, error: ValidationError) -> list[str]:
    if not hasattr(error, "error_dict"):
        return list(error.messages)
    sentences = []
    for name, messages in error.message_dict.items():
        for message in messages:
            if name == "__all__":
                sentences.append(message)
            else:
                label = str(getattr(row._meta.get_field(name), "verbose_name", name))
                sentences.append(f"{label[:1].upper()}{label[1:]}: {message}")
    return sentences

"""One text for one content: what a quote said, so exactly that any change shows.

The content is written as JSON with sorted keys, no spare space, and text in Unicode form NFC (Unicode
Standard Annex 15), then hashed with SHA-256 (FIPS 180-4). Amounts are text with as many decimals as they are
printed with, so 4310.00 and 4310 never differ by accident; numbers with a floating point are refused.
"""

import datetime as dt
import hashlib
import json
import unicodedata
from collections.abc import Mapping, Sequence
from decimal import Decimal


def canonical_json(content: Mapping[str, object]) -> str:
    """Return the content as canonical JSON. Raises TypeError for a value that has no single written form."""
    return json.dumps(_plain(content), ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def content_hash(content: Mapping[str, object]) -> str:
    """Return the SHA-256 of the canonical JSON, 64 hexadecimal digits. Raises TypeError as canonical_json."""
    return hashlib.sha256(canonical_json(content).encode()).hexdigest()


def _plain(value: object) -> object:
    match value:
        case None | bool() | int():
            return value
        case str():
            return unicodedata.normalize("NFC", value.replace("\r\n", "\n"))
        case Decimal():
            if not value.is_finite():
                raise TypeError(f"{value} is no amount.")
            return f"{value:f}"
        case dt.datetime():
            if value.tzinfo is None:
                raise TypeError(f"{value} names no time zone, so it is no single moment.")
            return value.astimezone(dt.UTC).isoformat()
        case dt.date():
            return value.isoformat()
        case Mapping():
            return {_key(key): _plain(each) for key, each in value.items()}
        case Sequence():
            return [_plain(each) for each in value]
        case _:
            raise TypeError(f"{value!r} ({type(value).__name__}) has no single written form.")


def _key(key: object) -> str:
    if not isinstance(key, str):
        raise TypeError(f"{key!r} is no name: use text.")
    return unicodedata.normalize("NFC", key)

"""Letters our face does not have: names in Chinese, Japanese or Korean letters are still written and found.

Those are set in the faces every PDF reader brings for them (ISO 32000-1, 9.7.5.2: predefined CMaps), which are not
embedded. A picture letter is written as its name in brackets, as a reader for the blind says it: "(musical keyboard)".
What no face has and has no picture's name becomes an open square, never nothing.
"""

import unicodedata
from collections.abc import Callable
from itertools import groupby
from xml.sax.saxutils import escape

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.cidfonts import UnicodeCIDFont

SQUARE = "\u25a1"
# Which letters, by the standard of the country they belong to, and the face readers bring for them.
_FACES = (
    ("euc_kr", "HYSMyeongJo-Medium"),
    ("shift_jis", "HeiseiMin-W3"),
    ("gb2312", "STSong-Light"),
    ("big5", "MSung-Light"),
)
# What joins picture letters or chooses their look, and the tones of skin (Unicode TR 51): nothing to be read aloud.
_JOINTS = dict.fromkeys([0x200D, 0x20E3, 0xFE0E, 0xFE0F, *range(0x1F3FB, 0x1F400), *range(0xE0020, 0xE0080)])
_EAST = 0x2E80  # East Asian letters begin here (Unicode, CJK Radicals Supplement)


def has_letter(face: str) -> Callable[[str], bool]:
    """Return a test whether a registered TrueType face has a letter."""
    glyphs = pdfmetrics.getFont(face).face.charToGlyph
    return lambda letter: ord(letter) in glyphs


def markup(text: str, face: str) -> str:
    """Return plain text as ReportLab's markup: everything escaped, letters the face lacks in a face that has them."""
    has = has_letter(face)
    if all(map(has, text.replace("\n", ""))):
        return escape(text)
    text = _pictures_named(text, has)
    parts = []
    for other, letters in groupby(text, key=lambda letter: "" if letter == "\n" or has(letter) else _face_for(letter)):
        run = "".join(letters)
        if not other:
            parts.append(escape(run))
        elif other == SQUARE:
            parts.append(SQUARE * len(run))
        else:
            parts.append(f'<font name="{other}">{escape(run)}</font>')
    return "".join(parts)


def plain(text: str, face: str) -> str:
    """Return text for a place that takes one face only: letters it lacks become open squares."""
    has = has_letter(face)
    return "".join(letter if has(letter) else SQUARE for letter in _pictures_named(text, has))


def _pictures_named(text: str, has: Callable[[str], bool]) -> str:
    """Return a text in which picture letters the face lacks are words, "(musical keyboard)"."""
    return "".join(
        f"({unicodedata.name(letter).lower()})"
        if not has(letter) and unicodedata.category(letter) == "So" and unicodedata.name(letter, "") != ""
        else letter
        for letter in text.translate(_JOINTS)
    )


def _face_for(letter: str) -> str:
    if ord(letter) < _EAST or ord(letter) > 0xFFFF:
        return SQUARE
    for standard, face in _FACES:
        try:
            letter.encode(standard)
        except UnicodeEncodeError:
            continue
        if face not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(UnicodeCIDFont(face))
        return face
    return SQUARE

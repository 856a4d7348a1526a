"""Photographs: looked at, turned upright, stripped of everything but the picture, and kept in a bounded size."""

from __future__ import annotations

import datetime as dt
import io
import uuid

from django.conf import settings
from django.core.files.base import ContentFile, File
from django.db import transaction
from PIL import Image, ImageOps

from jobs.assessment.models import Assessment, Photograph
from jobs.intake.models import Instrument
from workshop.people.models import Person
from workshop.web.errors import Refused
from workshop.web.rows import row_check

FORMATS = ("JPEG", "PNG", "WEBP")
LONGEST_SIDE = 2400  # pixels
QUALITY = 87
NOT_A_PICTURE = (
    "This file is not a photograph we can read. Send a JPEG, PNG or WebP picture, as telephones and cameras make them."
)
BROKEN = "This picture is damaged or cut short. Take it or send it again."


@transaction.atomic
def photograph_keep(
    *,
    instrument: Instrument,
    upload: File[bytes],
    caption: str,
    by: Person,
    at: dt.datetime,
    assessment: Assessment | None = None,
    for_client: bool = True,
) -> Photograph:
    """Keep a picture of an instrument, re-encoded as JPEG: no metadata, no more than 2400 pixels a side, a random name.

    Raises Refused when the file is not a JPEG, PNG or WebP picture, is too large, damaged, or unfolds to too many
    pixels; and when the assessment is of another instrument.
    """
    if assessment is not None and assessment.instrument_id != instrument.pk:
        raise Refused("This assessment is of another instrument. Open the right one and add the picture there.")
    picture = _clean_picture(_bytes_of(upload))
    photograph = Photograph(
        instrument=instrument,
        assessment=assessment,
        width=picture.width,
        height=picture.height,
        caption=caption.strip(),
        for_client=for_client,
        at=at,
        by=by,
    )
    kept = io.BytesIO()
    picture.save(kept, "JPEG", quality=QUALITY, optimize=True, progressive=True)
    photograph.image.save(f"{uuid.uuid4().hex}.jpg", ContentFile(kept.getvalue()), save=False)
    try:
        row_check(photograph)
        photograph.save()
    except Exception:
        photograph.image.delete(save=False)
        raise
    return photograph


def _bytes_of(upload: File[bytes]) -> bytes:
    most = settings.PHOTOGRAPH_MAX_BYTES
    if (upload.size or 0) > most:
        raise Refused(
            f"This file has {(upload.size or 0) / 1024 / 1024:.0f} MB; the most is {most / 1024 / 1024:.0f} MB. "
            "Send it in a smaller size."
        )
    data = bytes(upload.read(most + 1))
    if not data:
        raise Refused("This file is empty. Choose the picture again.")
    return data


def _opened(data: bytes) -> Image.Image:
    """Return the picture, not decoded yet. Raises Refused when it is none, or unfolds to too many pixels."""
    try:
        picture = Image.open(io.BytesIO(data), formats=FORMATS)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise Refused(_too_many("far more pixels than any camera makes")) from error
    except Exception as error:  # what a hostile file raises is not ours to foresee
        raise Refused(NOT_A_PICTURE) from error
    pixels = picture.width * picture.height
    if pixels > settings.PHOTOGRAPH_MAX_PIXELS:
        raise Refused(_too_many(f"{pixels / 1_000_000:,.0f} million pixels"))
    return picture


def _too_many(what: str) -> str:
    most = settings.PHOTOGRAPH_MAX_PIXELS / 1_000_000
    return f"This picture unfolds to {what}; the most is {most:,.0f} million. Send it in a smaller size."


def _clean_picture(data: bytes) -> Image.Image:
    """Return a fresh picture holding nothing but upright pixels. Raises Refused."""
    probe = _opened(data)
    try:
        probe.verify()
        picture = _opened(data)
        picture.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
        picture.load()
        upright = ImageOps.exif_transpose(picture)
        if "A" in upright.getbands() or "transparency" in upright.info:
            ground = Image.new("RGBA", upright.size, "white")
            upright = Image.alpha_composite(ground, upright.convert("RGBA"))
        upright = upright.convert("RGB")
        upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Image.Resampling.LANCZOS)
        fresh = Image.new("RGB", upright.size)
        fresh.paste(upright)
    except Refused:
        raise
    except Exception as error:  # as above: a damaged file can raise anything
        raise Refused(BROKEN) from error
    return fresh

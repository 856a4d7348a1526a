"""Private links: made, opened, taken back. Only hashes are kept."""

import datetime as dt
import hashlib
import secrets

from django.db import transaction
from django.db.models import QuerySet

from jobs.intake.models import Client, Instrument
from jobs.portal.models import ClientLink, PortalSession
from workshop.house.queries import the_shop
from workshop.web.errors import Refused

TOKEN_BYTES = 32  # 256 bits; at least 128 are asked for
SESSION_DAYS = 30


def hash_of(secret: str) -> str:
    """Return what is kept of a token or cookie (SHA-256, hex): long random values need no salt or stretching."""
    return hashlib.sha256(secret.encode()).hexdigest()


@transaction.atomic
def link_make(*, client: Client, instrument: Instrument, at: dt.datetime) -> str:
    """Make a link to one instrument's papers and return its token, the only time it can be seen.

    Raises Refused when the instrument is not this client's.
    """
    if instrument.client_id != client.pk:
        raise Refused(f"{instrument} does not belong to {client.name}.")
    token = secrets.token_urlsafe(TOKEN_BYTES)
    ClientLink.objects.create(
        client=client,
        instrument=instrument,
        token_hash=hash_of(token),
        made_at=at,
        expires_at=at + dt.timedelta(days=the_shop().link_valid_days),
    )
    return token


@transaction.atomic
def link_revoke(*, link: ClientLink, at: dt.datetime) -> ClientLink:
    """Take a link back: it and every browser that came in by it are shut out at once."""
    if link.revoked_at is None:
        link.revoked_at = at
        link.save(update_fields=["revoked_at"])
        link.sessions.all().delete()
    return link


def link_good(*, token: str, at: dt.datetime) -> bool:
    """Tell whether a token opens anything now."""
    return _good(token, at).exists()


def _good(token: str, at: dt.datetime) -> QuerySet[ClientLink]:
    return ClientLink.objects.filter(token_hash=hash_of(token), revoked_at=None, expires_at__gt=at)


@transaction.atomic
def link_open(*, token: str, at: dt.datetime) -> str | None:
    """Return a fresh cookie value for a good token; None when it is unknown, expired or taken back."""
    link = _good(token, at).first()
    if link is None:
        return None
    cookie = secrets.token_urlsafe(TOKEN_BYTES)
    PortalSession.objects.create(
        link=link,
        cookie_hash=hash_of(cookie),
        made_at=at,
        expires_at=min(link.expires_at, at + dt.timedelta(days=SESSION_DAYS)),
    )
    link.last_used_at = at
    link.first_used_at = link.first_used_at or at
    link.save(update_fields=["first_used_at", "last_used_at"])
    return cookie


def session_of(*, cookie: str, at: dt.datetime) -> PortalSession | None:
    """Return the session a cookie belongs to; None when it is unknown, over, or its link was taken back."""
    if not cookie:
        return None
    return (
        PortalSession.objects.select_related("link__client", "link__instrument__client")
        .filter(cookie_hash=hash_of(cookie), expires_at__gt=at, link__revoked_at=None, link__expires_at__gt=at)
        .first()
    )

"""Background work of the shell: look at the clock, call one function."""

from celery import shared_task


@shared_task(name="workshop.mail_relay")
def mail_relay() -> dict[str, int]:
    """Send the mail that waits."""
    from django.utils import timezone

    from workshop.mail.services import mail_relay as relay

    return dict(relay(at=timezone.now()))

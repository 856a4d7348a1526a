"""Questions about outgoing mail."""

from django.db.models import Count, QuerySet

from workshop.mail.models import Mail


def mails_in_doubt() -> QuerySet[Mail]:
    """Return the mails a person must settle, oldest first: not certain they went, or refused by the mail server."""
    return Mail.objects.filter(state__in=[Mail.State.UNCERTAIN, Mail.State.REFUSED]).defer("attachment").order_by("id")


def mails_delayed() -> QuerySet[Mail]:
    """Return the mails that wait after a failed attempt, oldest first; they go on by themselves."""
    return Mail.objects.filter(state=Mail.State.WAITING, attempts__gt=0).defer("attachment").order_by("id")


def mail_counts() -> dict[str, int]:
    """Return how many mails there are in each state that has any."""
    return dict(Mail.objects.order_by().values_list("state").annotate(number=Count("id")))

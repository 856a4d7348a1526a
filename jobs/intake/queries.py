"""Questions about clients, instruments and enquiries."""

from django.db.models import Count, Max, Prefetch, Q, QuerySet

from jobs.intake.models import Client, Enquiry, Instrument


def clients_all() -> QuerySet[Client]:
    """Return clients by name, with ``instruments_count`` and ``last_enquiry``."""
    return Client.objects.annotate(
        instruments_count=Count("instruments", distinct=True),
        last_enquiry=Max("instruments__enquiries__received_on"),
    ).order_by("name", "pk")


def clients_with(clients: QuerySet[Client], words: str) -> QuerySet[Client]:
    """Return the clients that have each of the words somewhere: in their own fields, or as maker of an instrument."""
    for word in words.split():
        clients = clients.filter(
            Q(name__icontains=word)
            | Q(email__icontains=word)
            | Q(phone__icontains=word)
            | Q(address__icontains=word)
            | Q(pk__in=Instrument.objects.filter(maker__icontains=word).values("client"))
        )
    return clients


def client_record(pk: int) -> Client | None:
    """Return a client with instruments and their enquiries read along, or None."""
    enquiries = Prefetch("instruments__enquiries", queryset=Enquiry.objects.order_by("-received_on", "-id"))
    return Client.objects.filter(pk=pk).prefetch_related("instruments", enquiries).first()


def enquiries_all() -> QuerySet[Enquiry]:
    """Return enquiries with instrument and client, newest first."""
    return Enquiry.objects.select_related("instrument__client").order_by("-received_on", "-id")


def enquiries_with(enquiries: QuerySet[Enquiry], words: str) -> QuerySet[Enquiry]:
    """Return the enquiries that have each of the words as client, maker, instrument's number, or in the aim."""
    for word in words.split():
        stands = (
            Q(instrument__client__name__icontains=word) | Q(instrument__maker__icontains=word) | Q(aim__icontains=word)
        )
        if word.isdecimal() and len(word) <= 7:
            stands |= Q(instrument__number=int(word))
        enquiries = enquiries.filter(stands)
    return enquiries


def enquiries_open() -> int:
    """Return how many enquiries wait for an answer."""
    return Enquiry.objects.filter(state=Enquiry.State.OPEN).count()


def instruments_by_client() -> QuerySet[Instrument]:
    """Return instruments with their clients, for choosing one."""
    return Instrument.objects.select_related("client").order_by("-number")

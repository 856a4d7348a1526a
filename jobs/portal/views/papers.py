"""Papers and pictures a client may open: only those of the instrument their link belongs to."""

from collections.abc import Callable

from django.http import FileResponse, Http404, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_safe

from jobs.assessment.models import Photograph
from jobs.billing.pdf import invoice_pdf
from jobs.billing.queries import invoices_of_instrument
from jobs.intake.models import Instrument
from jobs.portal.access import ClientRequest, client_only
from jobs.portal.queries import variations_of
from jobs.quoting.models import Quote
from jobs.quoting.pdf import quote_pdf
from jobs.quoting.queries import quote_print
from jobs.verification.models import Proof
from jobs.verification.pdf import proof_pdf
from jobs.worklist.pdf import variation_pdf
from workshop.house.queries import the_shop


def _quote(instrument: Instrument, key: int) -> bytes:
    quote = get_object_or_404(instrument.quotes.exclude(state=Quote.State.DRAFT), number=key)
    return quote_pdf(quote_print(quote))


def _variation(instrument: Instrument, key: int) -> bytes:
    return variation_pdf(get_object_or_404(variations_of(instrument), pk=key), the_shop())


def _invoice(instrument: Instrument, key: int) -> bytes:
    return invoice_pdf(get_object_or_404(invoices_of_instrument(instrument), number=key))


def _proof(instrument: Instrument, key: int) -> bytes:
    return proof_pdf(get_object_or_404(Proof, job__instrument=instrument, job=key, signed_at__isnull=False))


PAPERS: dict[str, Callable[[Instrument, int], bytes]] = {
    "quote": _quote,
    "variation": _variation,
    "invoice": _invoice,
    "proof": _proof,
}


@require_safe
@client_only
def paper(request: ClientRequest, kind: str, key: int) -> HttpResponse:
    """Return one paper as PDF."""
    if kind not in PAPERS:
        raise Http404
    response = HttpResponse(PAPERS[kind](request.portal.link.instrument, key), content_type="application/pdf")
    response.headers["Content-Disposition"] = f'inline; filename="{kind}-{key}.pdf"'
    return response


@require_safe
@client_only
def photograph(request: ClientRequest, pk: int) -> HttpResponseBase:
    """Return one photograph meant for the client."""
    one = get_object_or_404(Photograph, pk=pk, instrument=request.portal.link.instrument, for_client=True)
    return FileResponse(one.image.open("rb"), content_type="image/jpeg")

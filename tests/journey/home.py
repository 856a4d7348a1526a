"""The end of the line: read again and proved, invoiced and paid, home."""

from jobs.billing.models import Invoice
from jobs.billing.queries import paid_on
from jobs.verification.models import Proof
from jobs.worklist.models import Job
from tests.journey.owner import READ, csv_of
from tests.journey.walk import Walk
from workshop.money.words import money

CURED = {"pitch-off": 0, "groove": 0.2}


def proved(desk: Walk, job: Job) -> None:
    """The same notes read again against what was agreed, then signed."""
    desk.go(f"/jobs/{job.pk}/proof/").press("Begin the final readings")
    final = job.instrument.assessments.get(purpose="final")
    cured = {code: (value, READ[code][1]) for code, value in CURED.items()}
    rows = csv_of(cured, list(range(1, 88, 6))) + "88,groove,0.2,mm\n"
    desk.go(f"/assessments/{final.pk}/import/").fill(text=rows).press("Look at it").press("Keep", exact=False)
    desk.go(f"/jobs/{job.pk}/proof/").press("Sign the proof")
    proof = Proof.objects.get()
    assert proof.signed_at is not None
    assert proof.notes_read == proof.notes_met > 0
    words = desk.pdf(f"/jobs/{job.pk}/proof/proof.pdf")
    assert f"{proof.notes_met} of {proof.notes_read}" in words, words


def paid_and_home(desk: Walk, job: Job, client: Walk) -> None:
    """Every invoice of one unbroken series, paid; the piano goes home, and its owner reads the proof."""
    desk.go(f"/money/jobs/{job.pk}/")
    while desk.page.get_by_role("button", name="Issue the invoice", exact=False).count():
        desk.press("Issue the invoice", exact=False)
        desk.go(f"/money/jobs/{job.pk}/")
    invoices = list(Invoice.objects.filter(job=job).order_by("number"))
    assert [one.number for one in invoices] == list(range(invoices[0].number, invoices[0].number + len(invoices)))
    job.refresh_from_db()
    assert sum(one.total for one in invoices) == job.agreed_total
    for one in invoices:
        words = desk.pdf(f"/invoices/{one.number}/invoice.pdf")
        for amount in (one.net, one.vat, one.total):
            assert money(amount) in words, (amount, words)
        desk.go(f"/invoices/{one.number}/").fill(amount=str(one.total)).press("Keep the payment")
        assert paid_on(one) == one.total
    desk.go(f"/jobs/{job.pk}/return/").send()
    job.refresh_from_db()
    assert job.state == "returned"
    client.go("/your-piano/where-it-stands/")
    assert str(Proof.objects.get().notes_met) in client.pdf(f"/your-piano/paper/proof/{job.pk}.pdf")
    for address in ("/", "/instruments/", f"/instruments/{job.instrument.number}/", "/hours/", "/money/", "/quotes/"):
        desk.go(address)

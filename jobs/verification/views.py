"""Readings before and after, targets, the proof."""

from typing import cast

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from jobs import flow
from jobs.verification import services
from jobs.verification.forms import SignForm, TargetForm, target_initial
from jobs.verification.models import Proof
from jobs.verification.pdf import proof_pdf
from jobs.verification.queries import proof_check, proof_page
from jobs.worklist.models import Job
from workshop.web.access import StaffRequest, manager_only, staff_only
from workshop.web.errors import Refused


def _job(pk: int) -> Job:
    return get_object_or_404(Job.objects.select_related("instrument__client", "quote__assessment"), pk=pk)


@require_safe
@staff_only
def show(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the readings before and after, against what was agreed."""
    return _page(request, _job(pk), SignForm())


def _page(request: HttpRequest, job: Job, form: SignForm) -> HttpResponse:
    page = proof_page(job)
    context = {
        "page": page,
        "job": job,
        "strips": page.strips(),
        "targets": job.targets.select_related("measure"),
        "form": form,
        "holds": page.proof is None or not page.signed or proof_check(page.proof),
    }
    status = 422 if form.errors else 200
    return render(request, "jobs/verification/proof_show.html", context, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def target(request: StaffRequest, pk: int) -> HttpResponse:
    """Show and take the target of one measure; ``?measure=`` is the code of the one to change."""
    job = _job(pk)
    standing = job.targets.filter(measure__code=request.GET.get("measure", "")).select_related("measure").first()
    form = TargetForm(job, request.POST or None, initial=target_initial(standing))
    if request.method == "POST" and form.is_valid():
        try:
            kept = services.target_set(job=job, by=request.user, **form.cleaned_data)
        except Refused as error:
            form.add_error(None, str(error))
        else:
            messages.success(cast(HttpRequest, request), f"{kept.measure}: the target is kept.")
            return redirect("proof-show", pk=pk)
    page = {"job": job, "form": form, "standing": standing, "signed": Proof.objects.filter(job=job).first()}
    return render(
        cast(HttpRequest, request), "jobs/verification/target_set.html", page, status=422 if form.errors else 200
    )


@require_POST
@staff_only
def start(request: StaffRequest, pk: int) -> HttpResponse:
    """Begin the final readings, or go on with them."""
    try:
        assessment = services.proof_start(job=_job(pk), by=request.user, on=timezone.localdate())
    except Refused as error:
        messages.error(cast(HttpRequest, request), str(error))
        return redirect("proof-show", pk=pk)
    return redirect("assessment-show", pk=assessment.pk)


@require_POST
@manager_only
def sign(request: StaffRequest, pk: int) -> HttpResponse:
    """Sign the proof; what was written stays in the form when it cannot be signed yet."""
    form = SignForm(request.POST)
    if form.is_valid():
        try:
            flow.proof_signed(_job(pk), by=request.user, at=timezone.now(), words=form.cleaned_data["words"])
        except Refused as error:
            form.add_error(None, str(error))
        else:
            messages.success(
                cast(HttpRequest, request), "Signed. The instrument is ready; its letter waits to be read."
            )
            return redirect("proof-show", pk=pk)
    return _page(cast(HttpRequest, request), _job(pk), form)


@require_safe
@staff_only
def pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """Return the signed proof as PDF."""
    proof = (
        Proof.objects.select_related("job__instrument__client", "signed_by", "first", "final").filter(job=pk).first()
    )
    if proof is None or proof.signed_at is None:
        raise Http404
    response = HttpResponse(proof_pdf(proof), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="proof-{proof.job.instrument.number}.pdf"'
    return response

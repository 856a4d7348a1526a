"""Many readings at once: a column to fill in, a CSV to bring in, a CSV to take away."""

import csv

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from jobs.assessment import queries, services
from jobs.assessment.calc.csv_readings import COLUMNS
from jobs.assessment.calc.values import UNIT_WORDS
from jobs.assessment.forms import ImportForm
from jobs.assessment.models import Assessment, Measure, Reading
from jobs.assessment.views.fetch import ROOM, person, the_assessment, the_measure
from workshop.keyboard.calc.notes import key_name
from workshop.web.access import staff_only
from workshop.web.errors import Refused
from workshop.web.tables import harmless


@require_http_methods(["GET", "HEAD", "POST"])
@staff_only
def table(request: HttpRequest, pk: int, code: str) -> HttpResponse:
    """Show a field for every note of one measure; keep all that is filled in at once, or nothing."""
    assessment = the_assessment(pk)
    measure = the_measure(assessment, code)
    if not queries.is_note_by_note(measure):
        return redirect("assessment-enter", pk, code)
    refused = False
    typed = {key: (text, why) for key, (text, why) in _typed(request, assessment).items()}
    faults: dict[int, str] = {}
    if request.method == "POST":
        try:
            count = services.readings_keep(
                assessment=assessment, measure=measure, rows=typed, by=person(request), at=timezone.now()
            )
        except services.RowsRefused as refusal:
            faults, refused = refusal.rows, True
            messages.error(request, str(refusal))
        except Refused as refusal:
            refused = True
            messages.error(request, str(refusal))
        else:
            messages.success(request, f"{measure.name}: {count} {'reading' if count == 1 else 'readings'} changed.")
            return redirect("assessment-table", pk, code)
    context = {
        "assessment": assessment,
        "instrument": assessment.instrument,
        "measure": measure,
        "strip": queries.strip_for(assessment, measure),
        "rows": _rows(assessment, measure, typed if request.method == "POST" else None, faults),
        "ordinary": queries.ordinary_words(measure, assessment.instrument),
        "unit_words": UNIT_WORDS.get(measure.unit, measure.unit) or ", ".join(map(str, measure.choices)),
        "faults": len(faults),
        "room": ROOM,
    }
    return render(request, "jobs/assessment/assessment_table.html", context, status=422 if refused else 200)


def _typed(request: HttpRequest, assessment: Assessment) -> dict[int, tuple[str, str]]:
    return {
        key: (request.POST.get(f"value_{key}", ""), request.POST.get(f"because_{key}", ""))
        for key in assessment.instrument.compass
        if f"value_{key}" in request.POST
    }


def _rows(
    assessment: Assessment, measure: Measure, typed: dict[int, tuple[str, str]] | None, faults: dict[int, str]
) -> list[dict[str, object]]:
    kept = {r.key: r for r in queries.readings_of(assessment, measure) if r.key is not None}
    compass = assessment.instrument.compass
    rows: list[dict[str, object]] = []
    for key in compass:
        value, because = (typed or {}).get(key) or _as_typed(kept.get(key))
        rows.append(
            {
                "key": key,
                "value": value,
                "because": because,
                "fault": faults.get(key, ""),
                "edge": key == compass.last_wound or key in compass.bars_above,
            }
        )
    return rows


def _as_typed(reading: Reading | None) -> tuple[str, str]:
    if reading is None:
        return "", ""
    value = reading.choice if reading.value is None else f"{reading.value.normalize():f}"
    return value, reading.not_measured_because


@require_http_methods(["GET", "HEAD", "POST"])
@staff_only
def take_in(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what a CSV of readings would bring; keep it, all of it, when asked to."""
    assessment = the_assessment(pk)
    form = ImportForm(request.POST or None, request.FILES or None)
    preview = None
    refused = False
    if request.method == "POST" and form.is_valid():
        text = form.cleaned_data["text"]
        preview = queries.import_preview(assessment, text)
        if "keep" in request.POST and not preview.faults:
            try:
                count = services.readings_import(
                    assessment=assessment, text=text, by=person(request), at=timezone.now()
                )
            except Refused as refusal:
                refused = True
                messages.error(request, str(refusal))
            else:
                messages.success(request, f"{count} {'reading is' if count == 1 else 'readings are'} kept.")
                return redirect("assessment-show", pk)
        refused = refused or bool(preview.faults)
        form = ImportForm(initial={"text": text})
    context = {
        "assessment": assessment,
        "instrument": assessment.instrument,
        "form": form,
        "preview": preview,
        "heads": ", ".join(COLUMNS),
        "room": ROOM,
    }
    return render(
        request, "jobs/assessment/assessment_import.html", context, status=422 if refused or form.errors else 200
    )


@require_safe
@staff_only
def export(request: HttpRequest, pk: int) -> HttpResponse:
    """Return every reading as CSV, in a form the import takes back."""
    assessment = the_assessment(pk)
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = (
        f'attachment; filename="readings-{assessment.instrument.number}-{assessment.on}.csv"'
    )
    response.write("\ufeff")
    writer = csv.writer(response)
    writer.writerow(COLUMNS)
    for reading in queries.readings_of(assessment):
        writer.writerow([harmless(cell) for cell in _csv_row(reading)])
    return response


def _csv_row(reading: Reading) -> list[object]:
    value = reading.choice if reading.value is None else f"{reading.value.normalize():f}"
    if reading.not_measured_because:
        value = f"not measured: {reading.not_measured_because}"
    return [
        key_name(reading.key) if reading.key is not None else "",
        reading.spot or ("whole" if reading.key is None else ""),
        reading.measure.code,
        value,
        reading.measure.unit if reading.value is not None else "",
        reading.remark,
    ]

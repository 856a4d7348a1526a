"""Entering one reading after another, with the note strip above and one thumb below."""

from decimal import Decimal, InvalidOperation
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from jobs.assessment import queries, services
from jobs.assessment.calc.samples import SETS
from jobs.assessment.calc.values import UNIT_WORDS, short_unit, value_read, value_step
from jobs.assessment.forms import BECAUSE, EntryForm, NoteForm
from jobs.assessment.models import Assessment, Measure, Reading
from jobs.assessment.views.fetch import ROOM, person, the_assessment, the_measure
from workshop.keyboard.calc.notes import key_name
from workshop.web.access import staff_only
from workshop.web.errors import Refused


def entry_address(assessment: Assessment, measure: Measure, **query: object) -> str:
    """Return the address of the entry page at a note, a place or a sample set."""
    address = reverse("assessment-enter", args=[assessment.pk, measure.code])
    given = {name: value for name, value in query.items() if value not in (None, "")}
    return f"{address}?{urlencode(given)}" if given else address


@require_http_methods(["GET", "HEAD", "POST"])
@staff_only
def enter(request: HttpRequest, pk: int, code: str) -> HttpResponse:
    """Show one note or place of a measure; keep what is sent and go on to the next."""
    assessment = the_assessment(pk)
    measure = the_measure(assessment, code)
    if request.method == "POST":
        form = EntryForm(request.POST)
        if not form.is_valid():
            messages.error(request, "That form was not from this page. Enter the reading again.")
            return redirect(entry_address(assessment, measure))
        return _keep(request, assessment, measure, form)
    which = _which(request.GET.get("which", ""))
    if "note" in request.GET:
        return _another(request, assessment, measure, which)
    typed = request.GET.get("key", "").replace("−", "-")
    key = int(typed) if typed.lstrip("-").isdecimal() and len(typed) <= 3 else None
    if key is not None and key not in assessment.instrument.compass:
        messages.error(request, _outside(assessment, key))
        key = None
    return _page(
        request,
        assessment,
        measure,
        which=which,
        key=key,
        kind=request.GET.get("kind", ""),
        spot=request.GET.get("spot", "")[:40],
        typed=request.GET.get("value"),
    )


def _which(name: str) -> str:
    return name if name in SETS else "standard"


def _outside(assessment: Assessment, key: int) -> str:
    compass = assessment.instrument.compass
    return (
        f"{key_name(key)} is outside this instrument’s compass, {key_name(compass.first)} to {key_name(compass.last)}."
    )


def _another(request: HttpRequest, assessment: Assessment, measure: Measure, which: str) -> HttpResponse:
    form = NoteForm(request.GET)
    if not form.is_valid():
        messages.error(request, " ".join(str(each) for each in form.errors["note"]))
        return redirect(entry_address(assessment, measure, which=which, key=request.GET.get("from")))
    key = form.cleaned_data["note"]
    return redirect(entry_address(assessment, measure, which=which, key=key))


def _keep(request: HttpRequest, assessment: Assessment, measure: Measure, form: EntryForm) -> HttpResponse:
    """Keep one reading, or step the value without keeping it."""
    data = form.cleaned_data
    key, which = data["key"], _which(data["which"])
    if "step" in request.POST:
        value = _stepped(assessment, measure, data["value"], key, request.POST["step"])
        return redirect(
            entry_address(assessment, measure, which=which, key=key, kind=data["kind"], spot=data["spot"], value=value)
        )
    because = (data["own_words"] or data["because"]) if "skip" in request.POST else ""
    if "skip" in request.POST and not because.strip():
        return _refused(
            request, assessment, measure, form, "Choose or write the reason why it is not measured.", "because"
        )
    try:
        services.reading_keep(
            assessment=assessment,
            measure=measure,
            key=key,
            spot=data["spot"],
            spot_kind=data["kind"],
            value_text="" if because else data["value"],
            choice="" if because else data["choice"],
            not_measured_because=because,
            remark=data["remark"],
            gauge=data["gauge"],
            by=person(request),
            at=timezone.now(),
        )
    except Refused as refusal:
        return _refused(request, assessment, measure, form, str(refusal), "because" if because else "value")
    return redirect(_onwards(assessment, measure, which, key, data["kind"], data["spot"]))


def _onwards(assessment: Assessment, measure: Measure, which: str, key: int | None, kind: str, spot: str) -> str:
    if key is not None:
        entry = queries.entry_at(assessment, measure, which=which, kind="note", key=key)
        return entry_address(assessment, measure, which=which, key=entry.next_key)
    if not spot:
        return reverse("assessment-show", args=[assessment.pk])
    entry = queries.entry_at(assessment, measure, kind=kind, spot=spot)
    return entry_address(assessment, measure, kind=kind, spot=entry.next_spot)


def _stepped(assessment: Assessment, measure: Measure, text: str, key: int | None, step: str) -> str:
    """Return the value one step up or down; from the last reading when nothing is typed. Bad text stays as it is."""
    by = value_step(measure.code, measure.unit) * (-1 if step.startswith("-") else 1)
    if not text.strip():
        last = assessment.readings.filter(measure=measure).exclude(value=None).order_by("-at", "-pk").first()
        low, high = queries.range_of(measure, assessment.instrument)
        start = last.value if last and last.value is not None else Decimal(str(low or high or 0))
        return f"{start.normalize():f}"  # the first press shows where the last note stood
    try:
        return f"{(value_read(text, measure.unit, key=key) + by).normalize():f}"
    except (ValueError, InvalidOperation):
        return text


def _refused(
    request: HttpRequest, assessment: Assessment, measure: Measure, form: EntryForm, sentence: str, beside: str
) -> HttpResponse:
    """Show the page again with what was entered, and the sentence beside its field."""
    data = form.cleaned_data
    key = data["key"]
    if key is not None and key not in assessment.instrument.compass:
        messages.error(request, sentence)
        key, beside = None, ""
    return _page(
        request,
        assessment,
        measure,
        which=_which(data["which"]),
        key=key,
        kind=data["kind"],
        spot=data["spot"],
        typed=data["value"],
        fault=sentence,
        beside=beside,
        form=form,
    )


def _page(
    request: HttpRequest,
    assessment: Assessment,
    measure: Measure,
    *,
    which: str,
    key: int | None,
    kind: str = "",
    spot: str = "",
    typed: str | None = None,
    fault: str = "",
    beside: str = "",
    form: EntryForm | None = None,
) -> HttpResponse:
    entry = queries.entry_at(
        assessment,
        measure,
        which=which,
        kind=kind,
        key=key,
        spot=spot,
        href_for=lambda each: entry_address(assessment, measure, which=which, key=each),
    )
    context = {
        "assessment": assessment,
        "instrument": assessment.instrument,
        "measure": measure,
        "entry": entry,
        "which": which,
        "sets": [(name, words, entry_address(assessment, measure, which=name)) for name, words in SETS.items()],
        "value": typed if typed is not None else _shown(entry.reading),
        "fault": fault,
        "beside": beside,
        "sent": form.cleaned_data if form else _kept_words(entry),
        "choices": _choices(measure),
        "reasons": BECAUSE,
        "unit_words": UNIT_WORDS.get(measure.unit, measure.unit),
        "unit": short_unit(measure.unit),
        "step": value_step(measure.code, measure.unit),
        "last": _last(entry, measure, assessment),
        "finished": assessment.finished_at is not None,
        "room": ROOM,
    }
    return render(request, "jobs/assessment/assessment_enter.html", context, status=422 if fault else 200)


def _kept_words(entry: queries.Entry) -> dict[str, str]:
    """Return remark and gauge of the reading that stands; the gauge of the last one goes on to the next."""
    gauge = entry.reading.gauge if entry.reading else entry.last[0].gauge if entry.last else ""
    return {"remark": entry.reading.remark if entry.reading else "", "gauge": gauge}


def _last(entry: queries.Entry, measure: Measure, assessment: Assessment) -> list[tuple[str, str, str]]:
    return [
        (
            queries.spot_words(each),
            queries.reading_words(each),
            queries.against_words(each, measure, assessment.instrument),
        )
        for each in entry.last
    ]


def _shown(reading: Reading | None) -> str:
    if reading is None or reading.value is None:
        return ""
    return f"{reading.value.normalize():f}"


def _choices(measure: Measure) -> list[tuple[str, str]]:
    words = queries.grade_words(measure)
    return [(str(choice), words.get(str(choice), "")) for choice in measure.choices]


@require_POST
@staff_only
def take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a reading back, and go to its note to read it again."""
    reading = get_object_or_404(Reading.objects.select_related("assessment", "measure"), pk=pk)
    try:
        services.reading_take_back(reading=reading, by=person(request))
    except Refused as refusal:
        messages.error(request, str(refusal))
    where = {"key": reading.key} if reading.key is not None else {"kind": reading.spot_kind, "spot": reading.spot}
    return redirect(
        entry_address(reading.assessment, reading.measure, which=_which(request.POST.get("which", "")), **where)
    )

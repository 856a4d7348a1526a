"""Questions about targets and the proof."""

import datetime as dt
import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from jobs.assessment.models import Assessment, Reading, SpotKind
from jobs.verification.calc import PLURALS, MeasureProof, Pair, pair_up, proof_sentence
from jobs.verification.models import Proof, Target
from jobs.worklist.models import Job
from workshop.keyboard.calc.notes import Compass, key_name
from workshop.keyboard.strip import Strip, make_strip

MOST_NOTES = 4


@dataclass(frozen=True)
class ProofPage:
    """What the page and the paper of a proof show."""

    job: Job
    proof: Proof | None
    first: Assessment | None
    final: Assessment | None
    measures: tuple[MeasureProof, ...]
    sentence: str

    @property
    def signed(self) -> bool:
        """Tell whether a person has signed it."""
        return self.proof is not None and self.proof.signed_at is not None

    @property
    def unread(self) -> tuple[str, ...]:
        """Return what must still be read before it can be signed, in words."""
        return unread_words(self.measures)

    @property
    def outside(self) -> list[tuple[MeasureProof, Pair]]:
        """Return the notes that do not meet what was agreed."""
        return [(one, pair) for one in self.measures for pair in one.failing]

    @property
    def not_measured(self) -> list[tuple[MeasureProof, Pair]]:
        """Return the notes not measured at the end, and somebody said why."""
        return [(one, pair) for one in self.measures for pair in one.pairs if pair.after is None and pair.because]

    def strips(self) -> list[tuple[MeasureProof, Strip]]:
        """Return each measure with its note strip, before and after."""
        compass = self.job.instrument.compass
        return [(one, strip_of_proof(one, compass)) for one in self.measures if one.pairs]


def first_assessment(job: Job) -> Assessment | None:
    """Return the assessment a job was quoted from, or the newest first one from before it was accepted."""
    if job.quote is not None and job.quote.assessment is not None:
        return job.quote.assessment
    firsts = job.instrument.assessments.filter(purpose=Assessment.Purpose.FIRST)
    return firsts.filter(on__lte=job.accepted_on).order_by("-on", "-pk").first() or firsts.order_by("on", "pk").first()


def final_assessments(job: Job) -> list[Assessment]:
    """Return the final assessments made for a job since it was accepted, oldest first."""
    return list(
        job.instrument.assessments.filter(purpose=Assessment.Purpose.FINAL, on__gte=job.accepted_on).order_by(
            "on", "pk"
        )
    )


def final_assessment(job: Job) -> Assessment | None:
    """Return the newest final assessment of a job."""
    finals = final_assessments(job)
    return finals[-1] if finals else None


def proof_pairs(job: Job) -> tuple[MeasureProof, ...]:
    """Return, for each measure with a target, the first and final readings of each note.

    Where a note was read in more than one final assessment, the newest reading counts.
    """
    first = first_assessment(job)
    targets = list(Target.objects.filter(job=job).select_related("measure").order_by("measure__position"))
    before = _by_measure([first] if first else [])
    after = _by_measure(final_assessments(job))
    proofs = []
    for target in targets:
        old, new = before.get(target.measure_id, {}), after.get(target.measure_id, {})
        low = None if target.low is None else float(target.low)
        high = None if target.high is None else float(target.high)
        pairs = pair_up(_values(old), _values(new), _because(new), low=low, high=high)
        measure = target.measure
        proofs.append(MeasureProof(measure.code, measure.name, measure.unit, low, high, pairs))
    return tuple(proofs)


def unread_words(measures: Iterable[MeasureProof]) -> tuple[str, ...]:
    """Return what is still to be read, measure by measure: "Down weight (A0, C4 and 12 more)"."""
    told = []
    for one in measures:
        names = [key_name(key) for key in one.open_keys]
        more = f" and {len(names) - MOST_NOTES} more" if len(names) > MOST_NOTES else ""
        if names:
            told.append(f"{one.name} ({', '.join(names[:MOST_NOTES])}{more})")
        elif not one.pairs:
            told.append(f"{one.name} (no note yet)")
    return tuple(told)


def _by_measure(assessments: Sequence[Assessment]) -> dict[int, dict[int, Reading]]:
    """Return measure -> key -> reading; what a later assessment says of a note replaces the earlier."""
    place = {one.pk: number for number, one in enumerate(assessments)}
    readings = Reading.objects.filter(assessment__in=place, spot_kind=SpotKind.NOTE, key__isnull=False)
    found: dict[int, dict[int, Reading]] = {}
    for reading in sorted(readings, key=lambda one: place[one.assessment_id]):
        if reading.key is not None:
            found.setdefault(reading.measure_id, {})[reading.key] = reading
    return found


def _values(readings: Mapping[int, Reading]) -> dict[int, float]:
    return {key: float(one.value) for key, one in readings.items() if one.value is not None}


def _because(readings: Mapping[int, Reading]) -> dict[int, str]:
    return {key: one.not_measured_because for key, one in readings.items() if one.not_measured_because}


def proof_page(job: Job) -> ProofPage:
    """Return the proof of a job: frozen if it was signed, else as the readings are now."""
    proof = Proof.objects.filter(job=job).select_related("first", "final", "signed_by").first()
    first = first_assessment(job)
    final = final_assessment(job)
    measures = measures_kept(proof.frozen) if proof is not None and proof.signed_at else proof_pairs(job)
    return ProofPage(job, proof, first, final, measures, proof_sentence(measures))


def measures_frozen(measures: Iterable[MeasureProof]) -> dict[str, Any]:
    """Return measures as they are kept when signed."""
    return {"measures": [asdict(one) for one in measures]}


def measures_kept(frozen: dict[str, Any]) -> tuple[MeasureProof, ...]:
    """Return measures from what was kept when signed."""
    return tuple(
        MeasureProof(**{**one, "pairs": tuple(Pair(**pair) for pair in one["pairs"])}) for one in frozen["measures"]
    )


def proof_content(proof: Proof) -> str:
    """Return the hash over everything a signed proof says, and who signed it when (SHA-256, hex)."""
    page = {
        "job": proof.job_id,
        "first": proof.first_id,
        "final": proof.final_id,
        "frozen": proof.frozen,
        "words": proof.words,
        "met": proof.notes_met,
        "read": proof.notes_read,
        "signed_by": proof.signed_by_id,
        "signed_at": proof.signed_at.astimezone(dt.UTC).isoformat() if proof.signed_at else None,
    }
    return hashlib.sha256(json.dumps(page, sort_keys=True, ensure_ascii=False).encode()).hexdigest()


def proof_check(proof: Proof) -> bool:
    """Tell whether a signed proof still says what it said when it was signed."""
    return proof_content(proof) == proof.content_hash


def strip_of_proof(one: MeasureProof, compass: Compass) -> Strip:
    """Return the note strip of a measure: hollow before, filled after, the target as a band."""
    after = {pair.key: pair.after for pair in one.pairs if pair.key in compass}
    before = {pair.key: pair.before for pair in one.pairs if pair.before is not None and pair.key in compass}
    return make_strip(
        compass,
        after,
        one.low,
        one.high,
        PLURALS.get(one.unit, one.unit),
        f"{one.name}, before and after",
        before=before or None,
        reasons={pair.key: pair.because for pair in one.pairs if pair.because},
        band_words="agreed",
    )

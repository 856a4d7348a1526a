"""Questions about targets and the proof."""

import hashlib
import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any

from jobs.assessment.models import Assessment, Reading, SpotKind
from jobs.assessment.queries import latest_assessment
from jobs.verification.calc import MeasureProof, Pair, pair_up, proof_sentence
from jobs.verification.models import Proof, Target
from jobs.worklist.models import Job
from workshop.keyboard.calc.notes import Compass
from workshop.keyboard.strip import Strip, make_strip


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
        """Return what must still be read before it can be signed."""
        return tuple(one.name for one in self.measures if one.open_keys or not one.pairs)

    def strips(self) -> list[tuple[MeasureProof, Strip]]:
        """Return each measure with its note strip, before and after."""
        compass = self.job.instrument.compass
        return [(one, strip_of_proof(one, compass)) for one in self.measures if one.pairs]


def final_assessment(job: Job) -> Assessment | None:
    """Return the final assessment of a job: the newest made for it after it was accepted."""
    return (
        job.instrument.assessments.filter(purpose=Assessment.Purpose.FINAL, on__gte=job.accepted_on)
        .order_by("-on", "-pk")
        .first()
    )


def proof_pairs(job: Job) -> tuple[MeasureProof, ...]:
    """Return, for each measure with a target, the first and final readings of each note."""
    first = latest_assessment(job.instrument, Assessment.Purpose.FIRST)
    final = final_assessment(job)
    targets = list(Target.objects.filter(job=job).select_related("measure").order_by("measure__position"))
    before = _by_measure(first)
    after = _by_measure(final)
    proofs = []
    for target in targets:
        old, new = before.get(target.measure_id, []), after.get(target.measure_id, [])
        low = None if target.low is None else float(target.low)
        high = None if target.high is None else float(target.high)
        pairs = pair_up(_values(old), _values(new), _because(new), low=low, high=high)
        measure = target.measure
        proofs.append(MeasureProof(measure.code, measure.name, measure.unit, low, high, pairs))
    return tuple(proofs)


def _by_measure(assessment: Assessment | None) -> dict[int, list[Reading]]:
    found: dict[int, list[Reading]] = {}
    if assessment is not None:
        for reading in Reading.objects.filter(assessment=assessment, spot_kind=SpotKind.NOTE):
            found.setdefault(reading.measure_id, []).append(reading)
    return found


def _values(readings: Iterable[Reading]) -> dict[int, float]:
    return {one.key: float(one.value) for one in readings if one.key is not None and one.value is not None}


def _because(readings: Iterable[Reading]) -> dict[int, str]:
    return {one.key: one.not_measured_because for one in readings if one.key is not None and one.not_measured_because}


def proof_page(job: Job) -> ProofPage:
    """Return the proof of a job: frozen if it was signed, else as the readings are now."""
    proof = Proof.objects.filter(job=job).select_related("first", "final", "signed_by").first()
    first = latest_assessment(job.instrument, Assessment.Purpose.FIRST)
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


def proof_hash(frozen: dict[str, Any], words: str) -> str:
    """Return the hash over a signed proof (SHA-256, hex)."""
    page = json.dumps({"frozen": frozen, "words": words}, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(page.encode()).hexdigest()


def proof_check(proof: Proof) -> bool:
    """Tell whether a signed proof still says what it said when it was signed."""
    return proof_hash(proof.frozen, proof.words) == proof.content_hash


def strip_of_proof(one: MeasureProof, compass: Compass) -> Strip:
    """Return the note strip of a measure: hollow before, filled after, the target as a band."""
    after = {pair.key: pair.after for pair in one.pairs if pair.key in compass}
    before = {pair.key: pair.before for pair in one.pairs if pair.before is not None and pair.key in compass}
    return make_strip(
        compass,
        after,
        one.low,
        one.high,
        one.unit,
        f"{one.name}, before and after",
        before=before or None,
        reasons={pair.key: pair.because for pair in one.pairs if pair.because},
        band_words="agreed",
    )

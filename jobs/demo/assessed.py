"""Assessments of the demo: readings note by note, findings worked out from them and kept or left to confirm."""

import datetime as dt
import random
from collections.abc import Iterable, Mapping
from decimal import Decimal

from jobs.assessment.models import Assessment, Measure, Reading, SpotKind
from jobs.assessment.services import assessment_finish, assessment_start, finding_keep, findings_work_out
from jobs.demo import readings as curves
from jobs.intake.models import Instrument
from jobs.verification.models import Target
from workshop.people.models import Person


class Assessor:
    """Writes readings of one assessment in bulk."""

    def __init__(self, assessment: Assessment, at: dt.datetime, rng: random.Random) -> None:
        self.assessment, self.at, self.rng = assessment, at, rng
        self.measures = {measure.code: measure for measure in Measure.objects.all()}
        self.rows: list[Reading] = []

    def notes(self, code: str, series: curves.Series, *, missing: Mapping[int, str] | None = None) -> None:
        """Add one measure note by note; ``missing``: key -> why it was not measured."""
        for key, value in series.items():
            because = (missing or {}).get(key, "")
            self._add(code, SpotKind.NOTE, key=key, value=None if because else value, because=because)

    def whole(self, code: str, value: str, *, spot: str = "", kind: str = SpotKind.WHOLE) -> None:
        """Add one reading of the whole instrument, a section or a panel."""
        measure = self.measures[code]
        number = measure.value_kind == Measure.ValueKind.NUMBER
        self._add(code, kind, spot=spot, value=float(value) if number else None, choice="" if number else value)

    def _add(
        self,
        code: str,
        kind: str,
        *,
        key: int | None = None,
        spot: str = "",
        value: float | None = None,
        choice: str = "",
        because: str = "",
    ) -> None:
        self.rows.append(
            Reading(
                assessment=self.assessment,
                measure=self.measures[code],
                spot_kind=kind,
                key=key,
                spot=spot,
                value=None if value is None else Decimal(str(value)),
                choice=choice,
                not_measured_because=because,
                at=self.at,
                by=self.assessment.by,
            )
        )

    def write(self) -> None:
        """Write what was added."""
        Reading.objects.bulk_create(self.rows)
        self.rows = []


def first_assessment(
    instrument: Instrument,
    *,
    by: Person,
    on: dt.date,
    at: dt.datetime,
    rng: random.Random,
    full: bool,
    trouble: float,
    humidity: str = "47",
) -> Assessment:
    """Return a first assessment with readings: all notes (``full``) or sample notes; ``trouble`` from 0 to 1."""
    assessment = assessment_start(
        instrument=instrument,
        purpose="first",
        on=on,
        by=by,
        where="bench",
        state_words="strings on, action in, dampers held off",
        temperature_c=Decimal("18.5"),
        humidity_percent=Decimal(humidity),
    )
    assessor = Assessor(assessment, at, rng)
    compass = instrument.compass
    keys = list(compass) if full else curves.sample(compass, 5)
    outliers = {13: 68.0, 18: 71.0, 29: 66.0, 36: 68.0} if full else {}
    down, up = curves.touch(compass, rng, heavy_below=compass.first + round(44 * trouble), worst=outliers)
    missing = {51: "hammer missing", 83: "the key does not return", 84: "the key does not return"} if full else {}
    assessor.notes("down-weight", _of(down, keys), missing=missing)
    assessor.notes("up-weight", _of(up, keys), missing=missing)
    sample = curves.sample(compass, 8)
    assessor.notes("groove", _of(curves.grooves(compass, rng, middle_mm=0.3 + 1.4 * trouble), keys if full else sample))
    assessor.notes("blow", _of(curves.blows(compass, rng, mean_mm=46.0 - trouble), sample))
    assessor.notes("dip", _of(curves.dips(compass, rng, mean_mm=9.7, drift_mm=-0.4 * trouble), sample))
    assessor.notes("pin-torque", curves.torques(sample, rng, mean_nm=8.5 - 3.0 * trouble))
    assessor.notes("pitch-off", curves.pitches(sample, rng, mean_cents=-8 - 38 * trouble))
    assessor.whole("frame-crack", "no")
    assessor.whole("room-rh", humidity)
    if trouble > 0.4:
        assessor.whole("rust", "1")
        panel = "lid main" if instrument.kind == "grand" else "top door"
        assessor.whole("finish-grade", "2", spot=panel, kind=SpotKind.PANEL)
    if trouble > 0.7:
        assessor.whole("moth", "no")
        leg = "legs" if instrument.kind == "grand" else "legs or toes"
        assessor.whole("joint-loose", "yes", spot=leg, kind=SpotKind.PANEL)
        assessor.whole("lead-grade", "2")
    assessor.write()
    return assessment


def finish(assessment: Assessment, *, by: Person, at: dt.datetime, keep: bool = True) -> None:
    """Work the findings out, keep them (or leave them to confirm), and close the assessment."""
    for finding in findings_work_out(assessment=assessment):
        if keep:
            finding_keep(finding=finding, by=by)
    assessment_finish(assessment=assessment, by=by, at=at)


def cured_readings(
    assessment: Assessment,
    at: dt.datetime,
    rng: random.Random,
    *,
    still_heavy: Mapping[int, float],
    targets: Iterable[Target],
) -> None:
    """Add readings as they are after the work: regulated into what was agreed, but for the notes still heavy."""
    assessor = Assessor(assessment, at, rng)
    compass = assessment.instrument.compass
    down, up = curves.cured_touch(compass, rng, still_heavy=still_heavy)
    sample = curves.sample(compass, 8)
    made: dict[str, curves.Series] = {
        "down-weight": down,
        "up-weight": up,
        "groove": curves.grooves(compass, rng, middle_mm=0.2),
        "blow": curves.blows(compass, rng, mean_mm=46.0),
        "dip": curves.dips(compass, rng, mean_mm=9.8, drift_mm=0.0),
        "pin-torque": curves.torques(sample, rng, mean_nm=8.5),
        "pitch-off": curves.pitches(sample, rng, mean_cents=0),
    }
    read_before = _read_before(assessment)
    for target in targets:
        code = target.measure.code
        if code in made:
            kept = still_heavy if code in ("down-weight", "up-weight") else {}
            series = {key: value if key in kept else _within(value, target) for key, value in made[code].items()}
            assessor.notes(code, _of(series, read_before.get(code, sample)))
    assessor.write()


def _within(value: float | None, target: Target) -> float | None:
    """Return a value brought inside the limits of a target; None stays None."""
    if value is None:
        return None
    low = value if target.low is None else float(target.low)
    high = value if target.high is None else float(target.high)
    return min(max(value, low), high)


def _read_before(assessment: Assessment) -> dict[str, list[int]]:
    """Return measure -> keys read in the first assessment, so that before and after stand over the same keys."""
    found: dict[str, list[int]] = {}
    rows = Reading.objects.filter(
        assessment__instrument=assessment.instrument, assessment__purpose="first", spot_kind=SpotKind.NOTE
    )
    for code, key in rows.order_by("key").values_list("measure__code", "key"):
        if key is not None:
            found.setdefault(code, []).append(key)
    return found


def _of(series: curves.Series, keys: Iterable[int]) -> curves.Series:
    return {key: series[key] for key in keys if key in series}

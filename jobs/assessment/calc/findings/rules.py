"""Findings that need a rule of their own: touch, pitch, wrest pins, uneven strings."""

import math
from collections import Counter
from dataclasses import replace
from statistics import median

from jobs.assessment.calc.findings.generic import side_draft, why_words
from jobs.assessment.calc.findings.records import INFERRED, SEEN, Examined, FindingDraft, Measure
from jobs.assessment.calc.findings.words import listing, number_words
from jobs.assessment.calc.pitch import OLD_A4_HZ, STANDARD_A4_HZ, cents_between, raise_plan
from jobs.assessment.calc.ranges import MeasureRange
from jobs.assessment.calc.series import outliers
from jobs.assessment.calc.touch import TouchCause, TouchRanges, touch_cause
from workshop.keyboard.calc.notes import key_name

A4 = 49
IN_TUNE, SEASONAL, BREAKAGE_TALK = 5.0, 10.0, -50.0  # cents; common practice, no source
NEAR_OLD_PITCH = 6.0  # cents
RUSTY = 2  # grade from which wire breaks in a raise; common practice, no source
WILL_NOT_HOLD, JUMPY = 4.0, 17.0  # N·m; common practice, no source
LEAST_STEP = 0.01  # one hundredth: half a wire size is three; common practice, no source
MOST = 0.6  # share of the heavy keys from which a cause is said to be theirs


def touch_drafts(examined: Examined) -> list[FindingDraft]:
    """Return the findings of down and up weight together, with the cause where both were read.

    Down weight high with up weight low is friction, both high is weight.
    """
    drafts = []
    down, up = examined.measures.get("down-weight"), examined.measures.get("up-weight")
    heavy: set[str] = set()
    found = examined.range_of("down-weight")
    if down and found:
        for side in ("over", "under"):
            draft = side_draft(examined, down, side, found.limits, source=found.source)
            if draft and side == "over":
                draft = _with_cause(examined, draft, found)
                heavy = set(draft.spots)
            drafts.append(draft)
    back = examined.range_of("up-weight")
    if up and back:
        weak = side_draft(examined, up, "under", back.limits, source=back.source)
        if weak and len(set(weak.spots) - heavy) > 0.2 * len(weak.spots):
            drafts.append(weak)
    return [draft for draft in drafts if draft]


def pitch_drafts(examined: Examined) -> list[FindingDraft]:
    """Return what the pitch says: how far off at A4 (else in the middle), how it is raised, when to stop."""
    measure = examined.measures["pitch-off"]
    notes = examined.notes("pitch-off")
    whole = [r.value for r in examined.valued("pitch-off") if r.key is None and r.value is not None]
    if not notes and not whole:
        return []
    at_a4 = notes.get(A4, whole[0] if whole else None)
    offset = at_a4 if at_a4 is not None else median(notes.values())
    where = "at A4" if A4 in notes or whole else "in the middle of its readings"
    found = examined.range_of("pitch-off") or MeasureRange("", "", -IN_TUNE, IN_TUNE)
    low, high = found.limits()
    if offset < (low if low is not None else -IN_TUNE):
        return [_flat(examined, measure, offset, where)]
    if offset > (high if high is not None else IN_TUNE):
        return [_sharp(examined, measure, offset, where)]
    return _drifted(examined, measure, notes, offset)


def torque_drafts(examined: Examined) -> list[FindingDraft]:
    """Return what the wrest pins say: will not hold, near their limit, or jumpy."""
    measure, found = examined.measures["pin-torque"], examined.range_of("pin-torque")
    low = found.low if found and found.low is not None else WILL_NOT_HOLD
    loose = min(WILL_NOT_HOLD, low)
    watch = (
        "The tuning pins are near their limit{where}: {count pins} [lies|lie] between "
        f"{number_words(loose)} and {{low}}."
    )
    drafts = [
        side_draft(examined, measure, "under", lambda _: (loose, None)),
        side_draft(examined, measure, "over", lambda _: (None, JUMPY)),
    ]
    if low > loose:
        points = tuple(p.operation for p in measure.points_to if p.when == "any")
        drafts.append(
            side_draft(
                examined,
                measure,
                "under",
                lambda _: (low, None),
                template=watch,
                severity="wear",
                operations=points,
                graver=loose,
            )
        )
    return [draft for draft in drafts if draft]


def uneven_draft(examined: Examined, measure: Measure) -> FindingDraft | None:
    """Return that readings of a measure without a range step away from their neighbours, None if none do."""
    notes = examined.notes(measure.code)
    # sizes run along the compass by ratios, so their logarithms are nearly straight
    positive = {key: math.log(value) for key, value in notes.items() if value > 0}
    odd = outliers(positive, examined.compass, least=LEAST_STEP)
    if not odd:
        return None
    names = [key_name(key) for key in odd]
    verb = "departs" if len(names) == 1 else "depart"
    what = "The reading" if len(names) == 1 else "The readings"
    return FindingDraft(
        measure.code,
        measure.severity,
        INFERRED,
        f"{what} at {listing(names)} {verb} from the neighbours ({measure.name.lower()}).",
        f"{measure.meaning} A step means a replaced or wrong size, or a slip in reading: read again first.",
        tuple(names),
        measure.operations("any", examined.kind),
        {"outside": len(odd), "read": len(notes), "notes": len(examined.compass)},
    )


def _with_cause(examined: Examined, draft: FindingDraft, found: MeasureRange) -> FindingDraft:
    causes, swapped = _causes(examined, found)
    said = [draft.why]
    if swapped:
        said.append(f"At {listing(swapped)} up weight exceeds down weight: were the two swapped?")
    known = sum(count for cause, count in causes.items() if cause is not TouchCause.UNKNOWN)
    if not known:
        said.append("Up weight was not read there, so friction and weight cannot be told apart yet.")
        return replace(draft, why=" ".join(said))
    friction = (causes[TouchCause.FRICTION] + causes[TouchCause.BOTH]) / known
    weight = (causes[TouchCause.WEIGHT] + causes[TouchCause.BOTH]) / known
    operations: tuple[str, ...] = ()
    if friction >= MOST:
        operations += examined.measures["touch-friction"].operations("over", examined.kind)
    if weight >= MOST:
        operations += examined.measures["balance-weight"].operations("over", examined.kind)
    said.append(_cause_words(friction >= MOST, weight >= MOST, causes, known))
    figures = {**draft.figures, "by_friction": causes[TouchCause.FRICTION], "by_weight": causes[TouchCause.WEIGHT]}
    return replace(draft, why=" ".join(said), operations=operations or draft.operations, figures=figures)


def _causes(examined: Examined, found: MeasureRange) -> tuple[Counter[TouchCause], list[str]]:
    causes: Counter[TouchCause] = Counter()
    swapped = []
    up, back = examined.notes("up-weight"), examined.range_of("up-weight")
    balance, drag = examined.range_of("balance-weight"), examined.range_of("touch-friction")
    for key, down in examined.notes("down-weight").items():
        high = found.limits(key)[1]
        if high is None or down <= high:
            continue
        ends = TouchRanges(
            high,
            _end(back, key, 0, 0.0),
            _end(balance, key, 0, 0.0),
            _end(balance, key, 1, float("inf")),
            _end(drag, key, 1, float("inf")),
        )
        try:
            causes[touch_cause(down, up.get(key), ends).cause] += 1
        except ValueError:
            swapped.append(key_name(key))
    return causes, swapped


def _end(found: MeasureRange | None, key: int, place: int, otherwise: float) -> float:
    end = found.limits(key)[place] if found else None
    return otherwise if end is None else end


def _cause_words(friction: bool, weight: bool, causes: Counter[TouchCause], known: int) -> str:
    if friction and weight:
        return "Both friction and weight are too much at most of these keys."
    if friction:
        return "Up weight is low at the same keys, so the cause is friction, not weight: tight bushings and centres."
    if weight:
        return "Up weight is high at the same keys, so the cause is weight, not friction: hammers, leverage, leads."
    told = ", ".join(f"{cause.value} at {count}" for cause, count in causes.most_common() if count)
    return f"The cause differs from key to key ({told} of {known} where both weights were read)."


def _flat(examined: Examined, measure: Measure, offset: float, where: str) -> FindingDraft:
    old_wire = any(r.value is not None and r.value >= RUSTY for r in examined.valued("rust"))
    sentence = f"The pitch is low: {number_words(-offset)} cents flat {where}"
    why = [why_words(examined, measure, "", 0.0, (None, None)), "100 cents are one semitone."]
    operations = measure.operations("under", examined.kind)
    severity = measure.severity
    figures = {"offset_cents": offset}
    if offset >= -SEASONAL:
        sentence += ", no more than the seasons do."
        operations = tuple(code for code in operations if code != "tn-raise")
        severity = "wear"
    else:
        plan = raise_plan(offset, old_wire=old_wire or offset < BREAKAGE_TALK)
        sentence += f". It is raised in {len(plan.passes)} passes before it can be tuned."
        if plan.agree_first:
            sentence += " Old strings may break: we agree with you beforehand when to stop."
        why += [f"The pull of every string grows by {(plan.tension_ratio - 1) * 100:.1f} %.", plan.stop_rule]
        figures |= {"passes": len(plan.passes)}
    return FindingDraft(measure.code, severity, SEEN, sentence, " ".join(filter(None, why)), (), operations, figures)


def _sharp(examined: Examined, measure: Measure, offset: float, where: str) -> FindingDraft:
    why = [why_words(examined, measure, "", 0.0, (None, None)), "100 cents are one semitone."]
    for hertz in OLD_A4_HZ:
        if abs(offset - cents_between(hertz, STANDARD_A4_HZ)) <= NEAR_OLD_PITCH:
            why.append(f"It is close to A4 = {hertz:g} Hz, a pitch it may have been built for: ask first.")
    why.append("Damp air also raises the pitch.")
    sentence = f"The pitch is high: {number_words(offset)} cents sharp {where}."
    operations = measure.operations("over", examined.kind)
    return FindingDraft(
        measure.code, "wear", SEEN, sentence, " ".join(filter(None, why)), (), operations, {"offset_cents": offset}
    )


def _drifted(examined: Examined, measure: Measure, notes: dict[int, float], offset: float) -> list[FindingDraft]:
    out = [key for key, value in notes.items() if abs(value - offset) > IN_TUNE]
    if len(notes) < 4 or len(out) < 0.5 * len(notes):
        return []
    sentence = (
        f"The tuning has drifted apart: {len(out)} of the {len(notes)} notes read are more than "
        f"{number_words(IN_TUNE)} cents away from the rest."
    )
    operations = tuple(code for code in measure.operations("any", examined.kind) if code != "tn-raise")
    names = tuple(key_name(key) for key in out)
    figures = {"outside": float(len(out)), "read": float(len(notes)), "offset_cents": offset}
    return [FindingDraft(measure.code, "wear", SEEN, sentence, measure.meaning, names, operations, figures)]

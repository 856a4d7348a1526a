"""Targets, final readings, and the proof signed once."""

import datetime as dt
import threading
from decimal import Decimal as D

import pytest
from django.db import connection

from jobs.assessment.models import MeasureRange, Reading
from jobs.assessment.services import assessment_finish
from jobs.verification.models import Proof, Target
from jobs.verification.queries import measures_kept, proof_check, proof_page, proof_pairs
from jobs.verification.services import proof_sign, proof_start, target_set, targets_write
from tests.factories import (
    MOMENT,
    TODAY,
    make_assessment,
    make_instrument,
    make_job,
    make_manager,
    make_measure,
    make_operation,
    make_quote,
    make_reading,
    make_task,
    make_technician,
)
from tests.jobs.verification.proof_made import EARLIER, make_proof_job, make_touch, read_again
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db


def sign(job, words="Played in.", by=None, at=MOMENT):
    return proof_sign(job=job, by=by or make_manager(), at=at, words=words)


# ---- targets -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("year", "kind", "expected"),
    [(1887, "grand", (47, 57)), (1998, "grand", (46, 54)), (1887, "upright", (50, 62)), (1998, "upright", (50, 60))],
)
def test_a_target_is_the_ordinary_range_of_kind_and_era(year, kind, expected):
    measure = make_touch()
    given = {("grand", "old"): (47, 57), ("grand", "modern"): (46, 54), ("upright", "old"): (50, 62),
             ("upright", "modern"): (50, 60)}  # fmt: skip
    for (which, era), (low, high) in given.items():
        MeasureRange.objects.filter(measure=measure, instrument_kind=which, era=era).update(low=low, high=high)
    job = make_proof_job({1: 60}, measure=measure, year=year, kind=kind)
    target = job.targets.get()
    assert (target.measure, target.low, target.high, target.why) == (measure, *expected, "the ordinary range")


def test_only_what_the_work_touches_and_was_read_note_by_note_becomes_a_target():
    touched = make_touch()
    make_measure("dip", name="Dip")  # no work points from it
    make_touch("blow", name="Blow")  # never read
    elsewhere = make_touch("groove", "ac-face", name="Groove")  # points to work that is not in the job
    grade = make_touch("rust", name="Rust", value_kind="grade")
    unread = make_touch("up-weight", name="Up weight")  # could not be measured at first
    no_range = make_touch("drop", name="Drop", low=None, high=None)
    instrument = make_instrument()
    first = make_assessment(instrument, on=EARLIER)
    for measure in (touched, elsewhere, no_range):
        make_reading(first, 1, 60, measure=measure)
    make_reading(first, 1, 60, measure=make_measure("dip"))
    Reading.objects.create(assessment=first, measure=grade, spot_kind="note", key=1, choice="2", at=MOMENT, by=first.by)
    Reading.objects.create(
        assessment=first, measure=unread, spot_kind="note", key=1, not_measured_because="stuck", at=MOMENT, by=first.by
    )
    job = make_job(instrument)
    make_task(job, make_operation("ky-bush"))
    make_task(job, make_operation("ac-face"), state="left_out")
    assert [one.measure for one in targets_write(job=job)] == [touched]


def test_written_again_targets_that_somebody_set_stay():
    job = make_proof_job({1: 60})
    measure = job.targets.get().measure
    target_set(job=job, measure=measure, low=D(44), high=D(50), why="as she asked", by=make_manager())
    assert targets_write(job=job) == []
    target = job.targets.get()
    assert (target.low, target.high, target.why) == (44, 50, "as she asked")


@pytest.mark.parametrize(
    ("low", "high", "why", "words"),
    [
        (None, None, "agreed", "a lower limit, an upper limit or both"),
        (D(1), D(2), " ", "Say in a few words why"),
        (D(2), D(1), "agreed", "upper limit lies below the lower one"),
        (D("1.2345"), None, "agreed", "Low: "),
        (D(1), None, "x" * 121, "Why: "),
    ],
)
def test_a_target_that_cannot_be_is_refused(low, high, why, words):
    job = make_proof_job({1: 60})
    with pytest.raises(Refused, match=words):
        target_set(job=job, measure=job.targets.get().measure, low=low, high=high, why=why, by=make_manager())
    assert job.targets.get().low == 46


def test_a_signed_proof_keeps_its_targets():
    job = make_proof_job({1: 60})
    read_again(job, {1: 50})
    sign(job)
    with pytest.raises(Refused, match="signed this proof on Mon 11 Jan 2027; it stays as it is"):
        target_set(job=job, measure=Target.objects.get().measure, low=D(1), high=None, why="x", by=make_manager())
    Target.objects.all().delete()
    assert targets_write(job=job) == []


# ---- readings ----------------------------------------------------------------------------------------


def test_the_final_readings_are_begun_once():
    job = make_proof_job({1: 60})
    final = proof_start(job=job, by=make_manager(), on=TODAY)
    assert (final.purpose, final.on) == ("final", TODAY)
    assert proof_start(job=job, by=make_technician(), on=TODAY) == final


def test_an_instrument_that_has_not_arrived_is_not_read_again():
    job = make_proof_job({1: 60})
    job.state = "accepted"
    job.save()
    with pytest.raises(Refused, match="is not in the house: book it in"):
        proof_start(job=job, by=make_manager(), on=TODAY)


def test_pairs_cover_the_compass_of_the_instrument_itself():
    job = make_proof_job({key: 60 for key in range(-8, 89)}, first_key=-8, last_key=88)
    read_again(job, {key: 50 for key in range(-8, 89)})
    (one,) = proof_pairs(job)
    assert len(one.pairs) == 97
    assert [pair.key for pair in one.pairs] == list(range(-8, 89))
    assert one.met == 97


def test_notes_read_again_after_finishing_replace_the_earlier_reading_only_there():
    job = make_proof_job({1: 60, 2: 61})
    final = read_again(job, {1: 50, 2: 58})
    assessment_finish(assessment=final, by=make_manager(), at=MOMENT)
    again = read_again(job, {2: 52})
    assert again != final
    assert [pair.after for pair in proof_pairs(job)[0].pairs] == [50, 52]
    assert sign(job).final == again


def test_the_first_readings_are_those_the_job_was_quoted_from():
    job = make_proof_job({1: 60})
    quoted = job.instrument.assessments.get()
    later = make_assessment(job.instrument, on=TODAY)
    make_reading(later, 1, 99)
    assert proof_pairs(job)[0].pairs[0].before == 99, "the newest from before it was accepted"
    job.quote = make_quote(job.instrument, assessment=quoted)
    job.save()
    assert proof_pairs(job)[0].pairs[0].before == 60


# ---- signing -----------------------------------------------------------------------------------------


def test_a_proof_counts_freezes_and_closes():
    job = make_proof_job({1: 60, 2: 70, 3: 50})
    final = read_again(job, {1: 50, 2: 58}, k3="key out for repair")
    by = make_manager()
    proof = sign(job, " Played in. ", by)
    assert (proof.notes_met, proof.notes_read, proof.words, proof.signed_by) == (1, 2, "Played in.", by)
    proof.refresh_from_db()
    (one,) = measures_kept(proof.frozen)
    assert one == proof_pairs(job)[0]
    final.refresh_from_db()
    assert final.finished_at == MOMENT
    assert proof_check(proof)


def test_a_signed_proof_stays_when_rows_beneath_it_change():
    job = make_proof_job({1: 60})
    read_again(job, {1: 50})
    sign(job)
    Reading.objects.update(value=99)
    page = proof_page(job)
    assert page.signed
    assert page.measures[0].pairs[0].after == 50
    assert page.sentence == "1 of 1 keys now weighs between 46 and 54 g; before it was none."


@pytest.mark.parametrize(
    ("after", "words"),
    [
        ({}, "Nothing has been read again yet"),
        ({1: 50}, r"Not every note was read again: Down weight \(A♯0, B0\)\. Read them, or say for each note why"),
    ],
)
def test_a_proof_waits_for_every_note_that_was_read_at_first(after, words):
    job = make_proof_job({1: 60, 2: 60, 3: 60})
    read_again(job, after)
    with pytest.raises(Refused, match=words):
        sign(job)
    assert not Proof.objects.exists()


def test_a_measure_with_a_target_that_nobody_read_at_all_holds_the_proof():
    job = make_proof_job({1: 60})
    read_again(job, {1: 50})
    blow = make_measure("blow", name="Hammer blow")
    target_set(job=job, measure=blow, low=D(45), high=D(48), why="as agreed", by=make_manager())
    with pytest.raises(Refused, match=r"Hammer blow \(no note yet\)"):
        sign(job)
    read_again(job, {40: 46}, measure=blow)
    assert sign(job).notes_read == 2


def test_many_notes_that_are_wanting_are_cut_short():
    job = make_proof_job({key: 60 for key in range(1, 86)})
    read_again(job, {1: 50})
    with pytest.raises(Refused, match=r"\(A♯0, B0, C1, C♯1 and 80 more\)"):
        sign(job)


def test_a_proof_is_signed_once():
    job = make_proof_job({1: 60})
    read_again(job, {1: 50})
    first = sign(job, by=make_manager("Tamsin"))
    with pytest.raises(Refused, match="Tamsin signed this proof on Mon 11 Jan 2027"):
        sign(job, "again")
    with pytest.raises(Refused, match="it stays as it is"):
        proof_start(job=job, by=make_manager(), on=TODAY)
    assert Proof.objects.get() == first


@pytest.mark.django_db(transaction=True)
def test_six_who_sign_at_once_sign_once():
    job = make_proof_job({1: 60})
    read_again(job, {1: 50})
    by, start, answers = make_manager(), threading.Barrier(6), []

    def press(number):
        try:
            start.wait()
            answers.append(sign(job, f"by {number}", by))
        except Refused as error:
            answers.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=press, args=(number,)) for number in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert sorted(type(answer).__name__ for answer in answers) == ["Proof"] + ["Refused"] * 5
    assert Proof.objects.count() == 1
    assert proof_check(Proof.objects.get())


@pytest.mark.parametrize(
    "change",
    [
        {"words": "Perfect."},
        {"notes_met": 85},
        {"notes_read": 1},
        {"signed_at": MOMENT + dt.timedelta(days=1)},
        {"frozen": {"measures": []}},
    ],
)
def test_a_change_behind_our_back_is_told(change):
    job = make_proof_job({1: 60, 2: 60})
    read_again(job, {1: 50, 2: 50})
    sign(job)
    assert proof_check(Proof.objects.get())
    Proof.objects.update(**change)
    assert not proof_check(Proof.objects.get())

"""Draws the proof handed to an instrument's owner."""

from django.utils import timezone

from jobs.verification.calc import MeasureProof, proof_sentence
from jobs.verification.models import Proof
from jobs.verification.queries import measures_kept, strip_of_proof
from workshop.calendar.words import day_words_year
from workshop.documents.paper import SMALL, Paper
from workshop.house.queries import the_shop
from workshop.keyboard.calc.notes import key_name

COLUMNS = 3


def proof_pdf(proof: Proof) -> bytes:
    """Return a signed proof as PDF, A4: plain words, before and after along the keys, then every reading."""
    instrument = proof.job.instrument
    measures = measures_kept(proof.frozen)
    paper = Paper(the_shop(), f"Proof: {instrument.words}, our no. {instrument.number}")
    paper.heading(f"Your {instrument.words}: before and after")
    paper.text(f"{instrument.client.name}. Our no. {instrument.number}, {instrument.compass.words()}.", SMALL)
    paper.gap(2)
    paper.letter(proof_sentence(measures))
    paper.letter(proof.words)
    for one in measures:
        if one.read:
            _measure(paper, one, proof)
    signed = day_words_year(timezone.localdate(proof.signed_at)) if proof.signed_at else ""
    paper.gap(4)
    paper.letter(f"Read and signed, {signed}\n{proof.signed_by}, for {the_shop().name}")
    paper.part("Every reading")
    for one in measures:
        if one.pairs:
            _readings(paper, one)
    paper.text(f"Fingerprint of this proof: {proof.content_hash}", SMALL)
    return paper.render()


def _measure(paper: Paper, one: MeasureProof, proof: Proof) -> None:
    paper.part(one.name)
    paper.text(one.sentence)
    paper.gap(2)
    paper.strip(strip_of_proof(one, proof.job.instrument.compass))
    if one.failing:
        notes = ", ".join(f"{key_name(pair.key)} {pair.after_words}" for pair in one.failing)
        paper.text(f"Outside what was agreed: {notes}.")
    missing = [pair for pair in one.pairs if pair.after is None and pair.because]
    if missing:
        paper.text(f"Not measured: {', '.join(f'{key_name(pair.key)} ({pair.because})' for pair in missing)}.")


def _readings(paper: Paper, one: MeasureProof) -> None:
    paper.text(f"{one.name}, {one.unit or 'as read'}; agreed: {one.target_words}")
    cells = [(key_name(pair.key), pair.before_words, pair.after_words) for pair in one.pairs]
    height = -(-len(cells) // COLUMNS)
    rows = []
    for line in range(height):
        row: list[str] = []
        for column in range(COLUMNS):
            place = column * height + line
            row += list(cells[place]) if place < len(cells) else ["", "", ""]
        rows.append(row)
    paper.table(
        ("Note", "Before", "After") * COLUMNS, rows, numbers=(1, 2, 4, 5, 7, 8), widths_mm=(26, 16, 16) * COLUMNS
    )

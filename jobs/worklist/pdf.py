"""Draws the job card of a job, and a variation as its client reads it."""

from collections.abc import Sequence

from django.utils import timezone

from jobs.worklist.models import Variation
from jobs.worklist.queries import JobCard
from workshop.calendar.words import day_words_year, hours_words
from workshop.documents.paper import SMALL, Paper
from workshop.house.models import Shop
from workshop.money.words import money

CARE = "Local rules and the word of trained or licensed people come before what stands here."


def job_card_pdf(card: JobCard, shop: Shop, parts: Sequence[tuple[str, str, str]] = ()) -> bytes:
    """Return a job card, A4: what was agreed, tasks in order, parts, the cautions of the day, a code to the page.

    ``parts`` are (part, measure, state) of the tasks shown.
    """
    instrument = card.job.instrument
    paper = Paper(shop, f"Job card: no. {instrument.number} {instrument.words}")
    paper.heading(f"No. {instrument.number} {instrument.words}")
    paper.facts(
        [
            ("Owner", str(instrument.client)),
            ("Compass", instrument.compass.words()),
            ("Finish", instrument.finish or "–"),
            ("Numbers", instrument.numbers or "–"),
        ]
    )
    if card.cautions:
        paper.part("Take care")
    for caution in card.cautions:
        paper.caution(caution)
    if card.cautions:
        paper.text(CARE, SMALL)
    for stage in card.stages:
        paper.part(stage.words)
        rows = [
            (
                task.name,
                task.agreed or "–",
                hours_words(float(task.hours_likely)),
                f"{task.wait_hours} h {task.wait_reason}".strip() if task.wait_hours else "–",
                "done" if task.state == "done" else "☐",
            )
            for task in stage.tasks
        ]
        paper.table(
            ("Task", "What was agreed", "Likely", "Then rests", "Done"),
            rows,
            numbers=(2,),
            widths_mm=(58, 62, 18, 22, 14),
        )
    if parts:
        paper.part("Parts")
        paper.table(("Part", "Measure", "State"), parts, widths_mm=(74, 70, 30))
    paper.gap(4)
    paper.qr(card.address, "the same on the phone")
    return paper.render()


def variation_pdf(variation: Variation, shop: Shop) -> bytes:
    """Return a variation as PDF, A4: what was found, what is proposed, its price, and the answer if there is one."""
    job = variation.job
    instrument = job.instrument
    paper = Paper(shop, f"Variation {variation.number}: {instrument.words}, our no. {instrument.number}")
    paper.text(f"{instrument.client.name}\n{instrument.client.address}")
    paper.gap(4)
    paper.heading(f"Variation {variation.number}")
    sent = day_words_year(timezone.localdate(variation.sent_at)) if variation.sent_at else "not sent"
    paper.text(f"Your {instrument.words}, our no. {instrument.number}. {sent}", SMALL)
    paper.part("What we found")
    paper.letter(variation.found)
    paper.part("What we propose")
    paper.letter(variation.words)
    rows = [
        (f"{'' if row.adds else 'Left out: '}{row.words or row.operation.in_plain_words}", money(row.net))
        for row in variation.operations.select_related("operation")
    ]
    rows += [
        ("Without VAT", money(variation.net)),
        ("VAT", money(variation.vat)),
        ("Together, VAT included", money(variation.total)),
    ]
    paper.table(("What it is for", "Amount, without VAT"), rows, numbers=(1,), widths_mm=(130, 44), totals=3)
    if variation.ready_on:
        paper.text(f"Home again, if you agree: {day_words_year(variation.ready_on)}.")
    paper.gap(3)
    if variation.answered_at:
        paper.text(
            f"{variation.get_state_display().capitalize()} by {variation.answered_name}, "
            f"{day_words_year(timezone.localdate(variation.answered_at))}."
        )
    else:
        paper.text("Only the part this concerns waits for your answer; all other work goes on.")
    if variation.content_hash:
        paper.gap(3)
        paper.text(f"Fingerprint of this paper: {variation.content_hash}", SMALL)
    return paper.render()

"""Draws the job card of a job, and a variation as its client reads it."""

from collections.abc import Sequence

from django.utils import timezone
from reportlab.lib.units import mm
from reportlab.platypus import Spacer

from jobs.worklist.models import Task, Variation
from jobs.worklist.queries import JobCard
from workshop.calendar.words import day_words_year, hours_in_column
from workshop.documents.paper import SMALL, Paper
from workshop.house.models import Shop
from workshop.money.words import money

CARE = "Local rules and the word of trained or licensed people come before what stands here."
READING_ROWS = 4
ROW_TO_WRITE_IN = 7 * mm
TASK_HEADS = ("", "Task", "What was agreed", "After", "Likely", "Then rests", "Done, by")
TASK_WIDTHS_MM = (8, 46, 56, 14, 14, 18, 18)


def job_card_pdf(card: JobCard, shop: Shop, parts: Sequence[tuple[str, str, str]] = ()) -> bytes:
    """Return a job card, A4: cautions, what was agreed task by task in order, parts, room for readings.

    Its code leads to the page of the job. ``parts`` are (part, measure, state) of the tasks shown.
    """
    instrument = card.job.instrument
    paper = Paper(shop, f"Job card: no. {instrument.number} {instrument.words}")
    one = f": {card.stages[0].words.lower()}" if card.stage and card.stages else ""
    paper.heading(f"No. {instrument.number} {instrument.words}{one}")
    known = [
        ("owner", str(instrument.client)),
        ("compass", instrument.compass.words()),
        ("finish", instrument.finish),
        ("numbers", instrument.numbers),
        ("scope", card.job.scope.title if card.job.scope else ""),
    ]
    paper.qr(card.address, "\n".join(f"{name.capitalize()}: {value}" for name, value in known if value))
    _care(paper, card)
    if card.done:
        paper.text(f"Done before: {', '.join(card.done)}.", SMALL)
    for stage in card.stages:
        paper.part(stage.words)
        rows = [_task_row(task, card) for task in stage.tasks]
        paper.table(TASK_HEADS, rows, numbers=(4,), widths_mm=TASK_WIDTHS_MM)
    if parts:
        paper.part("Parts")
        paper.table(("Part", "Measure", "State"), parts, widths_mm=(74, 70, 30))
    with paper.together():
        paper.part("Readings")
        blank = [(Spacer(0, ROW_TO_WRITE_IN), "", "", "", "") for _ in range(READING_ROWS)]
        heads = ("Measure, note or place", "Before", "After", "Gauge", "By, day")
        paper.table(heads, blank, widths_mm=(64, 28, 28, 28, 26))
    return paper.render()


def _care(paper: Paper, card: JobCard) -> None:
    """Add the cautions of the instrument, then those of the work with the task each belongs to."""
    if not card.cautions and not card.work_cautions:
        return
    paper.part("Take care")
    for caution in card.cautions:
        paper.caution(caution)
    paper.points(f"{caution} ({', '.join(names)})" for caution, names in card.work_cautions)
    paper.text(CARE, SMALL)


def _task_row(task: Task, card: JobCard) -> tuple[str, ...]:
    """Return one task as a row: its number, and the numbers of the tasks it comes after that are still to do."""
    after = sorted(card.numbers[first.pk] for first in task.after.all() if first.pk in card.numbers)
    rests = f"{task.wait_hours} h {task.wait_reason}".strip() if task.wait_hours else "–"
    held = f"Held by variation {' and '.join(map(str, card.held[task.pk]))}. " if task.pk in card.held else ""
    done = "done" if task.state == Task.State.DONE else "☐"
    return (
        str(card.numbers.get(task.pk, "")),
        task.name,
        held + (task.agreed or "–"),
        ", ".join(map(str, after)) or "–",
        hours_in_column(float(task.hours_likely)),
        rests,
        done,
    )


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
    if not variation.words:
        paper.text("It is not priced yet: what we propose and what it costs will stand here.")
        return paper.render()
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

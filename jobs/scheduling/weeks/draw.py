"""One skill over the weeks as a strip of columns: hours there, hours planned, and where there is no room left."""

from collections.abc import Sequence

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from jobs.scheduling.calc.load import SkillWeek
from workshop.calendar.words import day_words, hours_words
from workshop.web.figures import number, rect, text

HIGH = 64.0
TOP = 16.0
FOOT = 20.0
WIDTHS = {"wide": (1080.0, 1), "narrow": (360.0, 3)}
"""Width in units, and every how many weeks a date stands under the columns."""


def week_words(week: SkillWeek) -> str:
    """Return one column in words."""
    monday = day_words(week.monday).split(" ", 1)[1]
    if not week.could and not week.planned:
        return f"week of {monday}: nobody is in"
    words = f"week of {monday}: {hours_words(week.planned)} planned of {hours_words(week.could)}"
    if week.elsewhere:
        words += f", {hours_words(week.elsewhere)} of other work of the same people"
    left = f"{hours_words(week.left)} left" if week.left >= 0 else f"{hours_words(-week.left)} too much"
    return f"{words}, {left}"


def draw_skill(name: str, weeks: Sequence[SkillWeek], scale: float, form: str, ident: str) -> SafeString:
    """Return the weeks of a skill side by side; ``scale``: the most hours of any column of the page.

    ``form`` is ``wide`` or ``narrow``. Raises KeyError for another form, ValueError for a scale of nothing.
    """
    if scale <= 0:
        raise ValueError("The scale of the weeks must be above 0: give the most hours of any week.")
    width, every = WIDTHS[form]
    each, foot = width / max(1, len(weeks)), TOP + HIGH
    gap = each * 0.16
    drawn = ""
    for place, week in enumerate(weeks):
        x = place * each
        drawn += f"<g><title>{escape(week_words(week))}</title>{_column(week, x + gap, each - 2 * gap, scale)}</g>"
        if place % every == 0:
            look = "strong" if place == 0 else ""
            drawn += text(x + gap, foot + 15, day_words(week.monday).split(" ", 1)[1], look)
    drawn += f'<path class="ax" d="M0 {number(foot)}H{number(width)}"/>'
    description = "; ".join(week_words(week) for week in weeks)
    return mark_safe(  # noqa: S308 - every word in it is escaped
        f'<svg class="{form}" viewBox="0 0 {number(width)} {number(foot + FOOT)}" role="img" '
        f'aria-labelledby="{ident}-{form}-t {ident}-{form}-d"><title id="{ident}-{form}-t">{escape(name)}</title>'
        f'<desc id="{ident}-{form}-d">{escape(description)}</desc>{drawn}</svg>'
    )


def _column(week: SkillWeek, x: float, wide: float, scale: float) -> str:
    """Cream as high as the people are there; green from the foot: planned in it; washed green: their other work."""
    foot = TOP + HIGH

    def high(hours: float) -> float:
        return min(hours, scale) / scale * HIGH

    there, own = high(week.could), high(week.planned)
    both = max(own, high(week.planned + week.elsewhere))
    drawn = ""
    if there:
        drawn += rect("chance", x, foot - there, wide, there)
    if both > own:
        drawn += rect("work", x, foot - both, wide, both - own)
    if own:
        drawn += rect("begun", x, foot - own, wide, own)
    if week.is_tight:
        left, top = x + wide / 2 - 4, foot - max(there, both) - 11
        drawn += f'<path class="off" d="M{number(left)} {number(top)}h8l-4 8z"/>'
    return drawn

"""The readings on a note strip: dots, lozenges, what is missing, the jump at the break, and the names of the worst."""

from collections.abc import Iterator

from workshop.keyboard.calc.geometry import gap_above
from workshop.keyboard.calc.shapes import Box, Circle, Line, Words, first_free, lozenge
from workshop.keyboard.calc.sheet import Sheet
from workshop.keyboard.calc.strip import Dot

Mark = tuple[float, float, str]  # where a worst reading stands, and its name


def _joins(sheet: Sheet) -> None:
    """Join the dots of neighbouring keys; the join is cut at the break and where a key has no reading."""
    run: list[tuple[float, float]] = []
    previous: int | None = None
    last_wound = sheet.strip.compass.last_wound
    for dot in [*sheet.strip.dots, Dot(999, None, "missing")]:
        broken = previous is None or dot.key != previous + 1 or previous == last_wound or dot.value is None
        if broken:
            if len(run) > 1:
                sheet.shapes.append(Line("move", tuple(run)))
            run = []
        if dot.value is not None:
            run.append((sheet.middle(dot.key), sheet.height_of(dot.value)))
        previous = dot.key


def put_readings(sheet: Sheet) -> None:
    """Draw every reading that is not among the worst; earlier ones hollow, with a line to the later."""
    strip, frame = sheet.strip, sheet.frame
    now = {dot.key: dot for dot in strip.dots}
    for dot in strip.before:
        after = now.get(dot.key)
        if dot.value is not None and after is not None and after.value is not None:
            x = sheet.middle(dot.key)
            sheet.shapes.append(Line("move", ((x, sheet.height_of(dot.value)), (x, sheet.height_of(after.value)))))
    if strip.joined:
        _joins(sheet)
    for look, dots in (("before", strip.before), ("", strip.dots)):
        for dot in dots:
            if dot.value is None or dot.state == "worst":
                continue
            x, y = sheet.middle(dot.key), sheet.height_of(dot.value)
            if look or dot.state == "in":
                sheet.shapes.append(Circle(look or "pt", x, y, frame.dot))
            else:
                sheet.shapes.append(lozenge("off", x, y, frame.dot * 1.5))
            reach = frame.dot * 1.5
            sheet.taken.append(Box(x - reach, y - reach, x + reach, y + reach))


def put_missing(sheet: Sheet) -> None:
    """Draw an open tick under the axis for each key that could not be measured."""
    half = sheet.frame.dot * 0.75
    top, bottom = sheet.frame.foot + 1, sheet.frame.foot + 1 + 2.6 * sheet.frame.dot
    for dot in sheet.strip.dots:
        if dot.state == "missing":
            x = sheet.middle(dot.key)
            sheet.shapes.append(
                Line("miss", ((x - half, top), (x - half, bottom), (x + half, bottom), (x + half, top)))
            )


def put_jump(sheet: Sheet) -> None:
    """Draw the bracket across the break, with its words where they find room."""
    strip = sheet.strip
    wound = strip.compass.last_wound
    values = {dot.key: dot.value for dot in strip.dots}
    if not strip.jump or wound is None:
        return
    x, below, above = gap_above(sheet.keys, wound), values.get(wound), values.get(wound + 1)
    if x is None or below is None or above is None:
        return
    y1, y2 = sheet.height_of(below), sheet.height_of(above)
    for points in (((x - 5, y1), (x + 5, y1)), ((x, y1), (x, y2)), ((x - 5, y2), (x + 5, y2))):
        sheet.shapes.append(Line("jump", points))
    sheet.taken.append(Box(x - 6, min(y1, y2) - 1, x + 6, max(y1, y2) + 1))
    middle = (y1 + y2) / 2 + 4
    steps = [0.0]
    for step in range(1, 14):
        steps += [step * 5.0, step * -5.0]
    candidates = [
        Words("bad", x + 11 if anchor == "start" else x - 11, middle + step, strip.jump, anchor)
        for step in steps
        for anchor in ("start", "end")
    ]
    found = first_free(candidates, sheet.taken, sheet.plot_ground(), sheet.frame.size, bold=True)
    if found:
        sheet.shapes.append(found[0])
        sheet.taken.append(found[1])


def put_worst(sheet: Sheet) -> None:
    """Draw the worst readings in red with a line up to the key; name as many as find a free place."""
    frame = sheet.frame
    half = frame.dot * 1.5
    dots = {dot.key: dot for dot in sheet.strip.dots if dot.state == "worst"}
    marks: list[Mark] = []
    for place, key in enumerate(sheet.strip.worst):
        value = dots[key].value
        if value is None:
            continue
        x, y = sheet.middle(key), sheet.height_of(value)
        if place >= frame.named:
            sheet.shapes.append(lozenge("off", x, y, half))
        else:
            marks.append((x, y, dots[key].label))
        sheet.taken.append(Box(x - half, y - half, x + half, y + half))
    for x, y, _ in marks:
        sheet.upright("lead", x, sheet.below_names(x), y - half)
    for x, y, _ in marks:
        sheet.shapes.append(lozenge("out", x, y, half))
    _name_marks(sheet, marks)


def _name_marks(sheet: Sheet, marks: list[Mark]) -> None:
    """Try a few orders in which the names choose their places, and keep the one that places most."""
    best: list[tuple[Words, Box]] = []
    for ordered in (marks, sorted(marks), sorted(marks, reverse=True)):
        for anchors in (("start", "end"), ("end", "start")):
            placed: list[tuple[Words, Box]] = []
            for mark in ordered:
                taken = [*sheet.taken, *(box for _, box in placed)]
                found = first_free(
                    _beside(sheet, mark, anchors), taken, sheet.plot_ground(), sheet.frame.size, bold=True
                )
                if found:
                    placed.append(found)
            if len(placed) > len(best):
                best = placed
    for words, box in best:
        sheet.shapes.append(words)
        sheet.taken.append(box)


def _beside(sheet: Sheet, mark: Mark, anchors: tuple[str, str]) -> Iterator[Words]:
    """Return the places a name may stand: beside its lozenge, then higher and higher along its line."""
    x, y, label = mark
    frame = sheet.frame
    side = frame.dot * 1.5 + 3
    base = y + 0.35 * frame.size
    rise = 0.0
    while base - rise > frame.top:
        for anchor in anchors:
            yield Words("bad", x + side if anchor == "start" else x - side, base - rise, label, anchor)
        rise += frame.size / 4

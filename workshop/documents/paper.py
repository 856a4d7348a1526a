"""The one letterhead of all papers: fonts, margins, heads, tables and page numbers.

A paper is built from flowables by a step's ``pdf.py``; it draws finished records and computes nothing.
"""

import importlib.util
import io
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import segno
from reportlab import rl_config
from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    CondPageBreak,
    Flowable,
    KeepTogether,
    Paragraph,
    SimpleDocTemplate,
    Spacer,
    Table,
    TableStyle,
)

from workshop.documents.letters import markup, plain
from workshop.documents.strip_paper import StripOnPaper, marks_words
from workshop.house.models import Shop
from workshop.keyboard.strip import Strip

rl_config.invariant = 1  # the same record gives the same bytes
SANS, BOLD, SERIF = "DejaVuSans", "DejaVuSans-Bold", "DejaVuSerif"
INK, SOFT, LINE, RULE = HexColor("#000000"), HexColor("#444444"), HexColor("#666666"), HexColor("#bbbbbb")
SIDE, TOP, FOOT = 18 * mm, 24 * mm, 20 * mm
WIDTH = A4[0] - 2 * SIDE
FRAME_PADDING = 6  # points that a page's frame keeps free by itself

TEXT = ParagraphStyle("text", fontName=SANS, fontSize=9, leading=12.5)
LETTER = ParagraphStyle("letter", fontName=SERIF, fontSize=10.5, leading=15.5, spaceAfter=2.5 * mm)
STRONG = ParagraphStyle("strong", parent=TEXT, fontName=BOLD)
SMALL = ParagraphStyle("small", parent=TEXT, fontSize=7.5, leading=10, textColor=SOFT)
TITLE = ParagraphStyle("title", fontName=SERIF, fontSize=18, leading=22, spaceAfter=3 * mm)
HEAD = ParagraphStyle("head", fontName=SERIF, fontSize=13, leading=16, spaceBefore=5 * mm, spaceAfter=2 * mm)
ROOM_BELOW_HEAD = 45 * mm
SHORT_TABLE = 7  # rows with the head that are never parted
POINT = ParagraphStyle("point", parent=TEXT, leftIndent=4 * mm, bulletIndent=0, spaceAfter=0.8 * mm)
RIGHT = ParagraphStyle("right", parent=TEXT, alignment=2)
RIGHT_STRONG = ParagraphStyle("right-strong", parent=STRONG, alignment=2)

_NO_PADDING = [("LEFTPADDING", (0, 0), (-1, -1), 0), ("RIGHTPADDING", (0, 0), (-1, -1), 0)]


def fonts_register() -> None:
    """Register the Unicode fonts that matplotlib carries; they are embedded, so that ♯ and ½ are on every machine.

    Raises RuntimeError when the package that carries them is missing.
    """
    if SERIF in pdfmetrics.getRegisteredFontNames():
        return
    found = importlib.util.find_spec("matplotlib")
    if found is None or not found.submodule_search_locations:
        raise RuntimeError("The fonts of the papers are missing: install matplotlib, which carries them.")
    folder = Path(found.submodule_search_locations[0]) / "mpl-data" / "fonts" / "ttf"
    for name in (SANS, BOLD, SERIF):
        pdfmetrics.registerFont(TTFont(name, str(folder / f"{name}.ttf")))
    pdfmetrics.registerFontFamily(SANS, normal=SANS, bold=BOLD, italic=SANS, boldItalic=BOLD)


def words(text: object, style: ParagraphStyle = TEXT) -> Paragraph:
    """Return a paragraph of plain text; line ends are kept, nothing in it is markup."""
    fonts_register()
    return Paragraph(markup(str(text), style.fontName).replace("\n", "<br/>"), style)


class Qr(Flowable):
    """A QR code, drawn as squares, so that it prints sharp at any size."""

    def __init__(self, text: str, size: float = 24 * mm) -> None:
        super().__init__()
        self.code = segno.make(text, error="m", micro=False)
        self.size = size

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Return the size it takes, in points."""
        return self.size, self.size

    def draw(self) -> None:
        """Draw the dark squares."""
        canvas: Canvas = self.canv
        rows = list(self.code.matrix_iter(border=2))
        step = self.size / len(rows)
        canvas.setFillColor(INK)
        for y, row in enumerate(rows):
            for x, dark in enumerate(row):
                if dark:
                    canvas.rect(x * step, self.size - (y + 1) * step, step, step, stroke=0, fill=1)


class Paper:
    """One paper: collect its matter with the methods, then ``render`` it.

    ``title`` stands in the foot and in the file's properties.
    """

    def __init__(self, shop: Shop, title: str) -> None:
        fonts_register()
        self.shop, self.title = shop, title
        self.story: list[Flowable] = []

    def add(self, *flowables: Flowable) -> None:
        """Add ready-made matter."""
        self.story += flowables

    def heading(self, text: str) -> None:
        """Add the title of the paper."""
        self.add(words(text, TITLE))

    def part(self, text: str) -> None:
        """Add the head of a part, on a new page when little room is left below it."""
        self.add(CondPageBreak(ROOM_BELOW_HEAD), words(text, HEAD))

    def text(self, text: object, style: ParagraphStyle = TEXT) -> None:
        """Add a paragraph."""
        self.add(words(text, style))

    def letter(self, text: str) -> None:
        """Add paragraphs of a letter, parted by empty lines."""
        for piece in text.split("\n\n"):
            if piece.strip():
                self.add(words(piece.strip(), LETTER))

    def gap(self, height_mm: float = 3) -> None:
        """Add empty height."""
        self.add(Spacer(0, height_mm * mm))

    def facts(self, pairs: Iterable[tuple[str, object]]) -> None:
        """Add pairs of a small name and what it is."""
        rows = [[words(name, SMALL), words(value)] for name, value in pairs]
        if rows:
            self.add(self._table(rows, [38 * mm, WIDTH - 38 * mm], heads=0))

    def address(self, to: Sequence[str], about: Sequence[str] = ()) -> None:
        """Add the lines of who it is for, and on the right what it is about: number, day."""
        left = [words(line) for line in to] or [words("")]
        right = [words(line, RIGHT) for line in about] or [words("")]
        both = Table([[left, right]], colWidths=[WIDTH * 0.6, WIDTH * 0.4])
        both.setStyle(TableStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *_NO_PADDING]))
        self.add(both, Spacer(0, 8 * mm))

    def points(self, lines: Iterable[str]) -> None:
        """Add a list, one line or paragraph a point."""
        self.add(*(Paragraph(markup(line, SANS), POINT, bulletText="–") for line in lines))

    def qr(self, address: str, text: str) -> None:
        """Add a QR code that leads to ``address``, with words beside it that say where, and the address itself."""
        both = Table([[Qr(address), [words(text), words(address, SMALL)]]], colWidths=[28 * mm, WIDTH - 28 * mm])
        both.setStyle(TableStyle([("VALIGN", (0, 0), (-1, -1), "MIDDLE"), *_NO_PADDING]))
        self.add(KeepTogether([both, Spacer(0, 2 * mm)]))

    def sign(self, *names: str) -> None:
        """Add lines to sign on, one for each of ``names`` (what stands below it: "Name and day"); at most three."""
        between = 10 * mm
        width = (WIDTH - between * (len(names) - 1)) / len(names)
        cells: list[object] = [words(names[0], SMALL)]
        for name in names[1:]:
            cells += ["", words(name, SMALL)]
        line = Table([cells], colWidths=[between if place % 2 else width for place in range(len(cells))])
        lines = [("LINEABOVE", (place, 0), (place, 0), 0.6, LINE) for place in range(0, len(cells), 2)]
        line.setStyle(TableStyle([*_NO_PADDING, *lines]))
        self.add(KeepTogether([Spacer(0, 16 * mm), line]))

    @contextmanager
    def together(self) -> Iterator[None]:
        """Keep on one page what is added inside."""
        before, self.story = self.story, []
        try:
            yield
        finally:
            inside, self.story = self.story, before
            self.add(KeepTogether(_unbound(inside)))

    def caution(self, text: str) -> None:
        """Add a caution beside a heavy line."""
        box = Table([[words(text)]], colWidths=[WIDTH])
        style = [("LINEBEFORE", (0, 0), (0, -1), 2, LINE), ("LEFTPADDING", (0, 0), (-1, -1), 8)]
        box.setStyle(TableStyle(style))
        self.add(KeepTogether([box, Spacer(0, 2 * mm)]))

    def strip(self, strip: Strip) -> None:
        """Add a note strip; below it its title and what its marks mean."""
        below = f"{strip.title}. {marks_words(strip)}."
        self.add(KeepTogether([StripOnPaper(strip, SANS, BOLD), words(below, SMALL), Spacer(0, 3 * mm)]))

    def table(
        self,
        heads: Sequence[str],
        rows: Iterable[Sequence[object]],
        *,
        numbers: Iterable[int] = (),
        widths_mm: Sequence[float] | None = None,
        totals: int = 0,
    ) -> None:
        """Add a table: heads repeat on each page, ``numbers`` are columns that stand right.

        The last ``totals`` rows are bold and stay with the row before them; no single row stands alone at the foot or
        the head of a page, a short table is not split, and a head of a part stays with the rows below it. A cell that
        is a flowable is put in as it is.
        """
        right = set(numbers)
        body = [list(row) for row in rows]
        drawn: list[list[Flowable]] = [
            [
                words(head, ParagraphStyle("h", parent=SMALL, alignment=2 if place in right else 0))
                for place, head in enumerate(heads)
            ]
        ]
        for number, row in enumerate(body):
            bold = number >= len(body) - totals
            drawn.append([_cell(cell, place in right, bold) for place, cell in enumerate(row)])
        share = WIDTH / len(heads)
        widths = [width * mm for width in widths_mm] if widths_mm else [share] * len(heads)
        table = self._table(drawn, widths, heads=1)
        table.setStyle(TableStyle([("RIGHTPADDING", (place, 0), (place, -1), 9) for place in right - {len(heads) - 1}]))
        whole = len(drawn) <= SHORT_TABLE
        self._head_stays(self._table(drawn if whole else drawn[:3], widths, heads=1))
        if whole:
            self.add(KeepTogether([table]), Spacer(0, 2 * mm))
            return
        first = ("NOSPLIT", (0, 0), (-1, 2))
        table.setStyle(TableStyle([first, ("NOSPLIT", (0, -max(totals, 1) - 1), (-1, -1))]))
        self.add(table, Spacer(0, 2 * mm))

    def _head_stays(self, first: Table) -> None:
        """Keep the head of a part, if that is what came last, on the page on which these first rows find room."""
        head = self.story[-1] if self.story else None
        if isinstance(head, Paragraph) and head.style is HEAD:
            room = sum(each.wrap(WIDTH, A4[1])[1] for each in (head, first)) + HEAD.spaceBefore + HEAD.spaceAfter
            self.story.insert(-1, CondPageBreak(room))

    def _table(self, rows: list[list[Flowable]], widths: list[float], *, heads: int) -> Table:
        table = Table(rows, colWidths=widths, repeatRows=heads, hAlign="LEFT")
        style: list[tuple[object, ...]] = [
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LINEBELOW", (0, heads), (-1, -1), 0.4, RULE),
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("RIGHTPADDING", (0, 0), (-1, -1), 5),
            ("RIGHTPADDING", (-1, 0), (-1, -1), 0),
            ("TOPPADDING", (0, 0), (-1, -1), 2),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 2.5),
        ]
        if heads:
            style.append(("LINEBELOW", (0, 0), (-1, 0), 0.8, LINE))
        table.setStyle(TableStyle(style))
        return table

    def render(self) -> bytes:
        """Return the paper as PDF, A4, "page x of y" in the foot; the same matter gives the same bytes."""
        out = io.BytesIO()
        document = SimpleDocTemplate(
            out,
            pagesize=A4,
            leftMargin=SIDE - FRAME_PADDING,
            rightMargin=SIDE - FRAME_PADDING,
            topMargin=TOP,
            bottomMargin=FOOT,
            title=self.title,
            author=self.shop.name,
            lang="en-GB",
        )
        # A copy: the library uses its list up, and a paper may be wanted twice.
        document.build(list(self.story), canvasmaker=self._canvas())
        return out.getvalue()

    def _canvas(self) -> type[Canvas]:
        shop, title = self.shop, self.title

        class Numbered(Canvas):
            """Keeps the pages until their number is known, then writes head and foot."""

            def __init__(self, *args: object, **kwargs: object) -> None:
                super().__init__(*args, **kwargs)
                self.kept: list[dict[str, object]] = []

            def showPage(self) -> None:  # noqa: N802  the library's name
                self.kept.append(dict(self.__dict__))
                self._startPage()

            def save(self) -> None:
                for number, page in enumerate(self.kept, start=1):
                    self.__dict__.update(page)
                    _letterhead(self, shop, title, number, len(self.kept))
                    super().showPage()
                super().save()

        return Numbered


def _unbound(flowables: Iterable[Flowable]) -> list[Flowable]:
    """Return flowables with what was kept together among them loose: the library measures a block in a block wrong."""
    loose: list[Flowable] = []
    for each in flowables:
        loose += _unbound(each._content) if isinstance(each, KeepTogether) else [each]
    return loose


def _cell(cell: object, right: bool, bold: bool) -> Flowable:
    if isinstance(cell, Flowable):
        return cell
    style = {(True, True): RIGHT_STRONG, (True, False): RIGHT, (False, True): STRONG}.get((right, bold), TEXT)
    return words(cell, style)


def _letterhead(canvas: Canvas, shop: Shop, title: str, number: int, of: int) -> None:
    place = ", ".join(part for part in (shop.street, shop.town, shop.postcode, shop.phone) if part)
    canvas.setFillColor(INK)
    canvas.setFont(SERIF, 11)
    canvas.drawString(SIDE, A4[1] - 15 * mm, plain(shop.name, SERIF))
    canvas.setFillColor(SOFT)
    canvas.setFont(SANS, 7.5)
    canvas.drawRightString(A4[0] - SIDE, A4[1] - 15 * mm, plain(place, SANS))
    canvas.drawString(SIDE, 12 * mm, plain(title[:110], SANS))
    canvas.drawRightString(A4[0] - SIDE, 12 * mm, f"page {number} of {of}")

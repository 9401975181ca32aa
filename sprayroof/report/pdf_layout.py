"""The page of the report: paper, margins, running head and foot, paragraph styles, tables, section starts.

Knows nothing of what an audit says; `pdf_owner` and `pdf_appendix` write with it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from reportlab.lib.colors import HexColor
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    KeepTogether,
    PageTemplate,
    Paragraph,
    Spacer,
    Table,
)

from sprayroof.report import style
from sprayroof.report.picture import Picture, fitted
from sprayroof.report.text import drawn, marked

STYLES = {
    "body": ParagraphStyle(
        "body",
        fontName=style.SERIF,
        fontSize=style.BODY,
        leading=style.LEADING,
        textColor=HexColor(style.INK),
        spaceAfter=6,
        splitLongWords=1,
    ),
    "lead": ParagraphStyle(
        "lead",
        fontName=style.SERIF,
        fontSize=15.5,
        leading=20.5,
        textColor=HexColor(style.INK),
        spaceAfter=8,
        splitLongWords=1,
    ),
    "verdict": ParagraphStyle(
        "verdict", fontName=style.SERIF, fontSize=34, leading=38, textColor=HexColor(style.INK), spaceAfter=5
    ),
    "title": ParagraphStyle(
        "title",
        fontName=style.SERIF,
        fontSize=25,
        leading=29,
        textColor=HexColor(style.INK),
        spaceAfter=9,
        splitLongWords=1,
    ),
    "question": ParagraphStyle(
        "question",
        fontName=style.SERIF_BOLD,
        fontSize=12.4,
        leading=15.5,
        textColor=HexColor(style.INK),
        spaceBefore=10,
        spaceAfter=5,
    ),
    "caption": ParagraphStyle(
        "caption",
        fontName=style.SERIF_ITALIC,
        fontSize=10.2,
        leading=13.2,
        textColor=HexColor(style.INK),
        spaceBefore=4,
        spaceAfter=6,
    ),
    "kicker": ParagraphStyle(
        "kicker", fontName=style.SANS, fontSize=style.SMALL, leading=11, textColor=HexColor(style.MUTED), spaceAfter=3
    ),
    "small": ParagraphStyle(
        "small", fontName=style.SERIF, fontSize=9.4, leading=12, textColor=HexColor(style.INK), splitLongWords=1
    ),
    "note": ParagraphStyle(
        "note",
        fontName=style.SERIF,
        fontSize=9.4,
        leading=12.2,
        textColor=HexColor(style.MUTED),
        spaceBefore=3,
        spaceAfter=4,
        splitLongWords=1,
    ),
    "cell": ParagraphStyle(
        "cell", fontName=style.SANS, fontSize=style.SMALL, leading=10.4, textColor=HexColor(style.INK), splitLongWords=1
    ),
    "cell_bold": ParagraphStyle(
        "cell_bold",
        fontName=style.SANS_BOLD,
        fontSize=style.SMALL,
        leading=10.4,
        textColor=HexColor(style.INK),
        splitLongWords=1,
    ),
    "head": ParagraphStyle(
        "head",
        fontName=style.SANS,
        fontSize=style.SMALL,
        leading=10.2,
        textColor=HexColor(style.MUTED),
        splitLongWords=0,
    ),
}


EPOCH = datetime(2000, 1, 1, tzinfo=UTC)  # stands for a report's date that cannot be read
LONGEST_CELL = 260  # characters of a text in a table; the record holds the whole


@dataclass
class Sheet:
    """What all pages share, and what is learned while they are laid out.

    Parameters
    ----------
    size : tuple of float
        Paper in points.
    head_left, head_right, foot_left : str
        Texts of the running head and foot.
    title, author, subject : str
        Document metadata.
    created : datetime
        Date of creation in the metadata: the report's own, so that the clock does not enter.
    pages : dict
        Section key -> page number and "total" -> number of pages, known from the pass before; empty on the first.
    """

    size: tuple[float, float]
    head_left: str
    head_right: str
    foot_left: str
    title: str
    author: str
    subject: str
    created: datetime = EPOCH
    pages: dict[str, int] = field(default_factory=dict)

    @property
    def width(self) -> float:
        """Width of the text in points."""
        return self.size[0] - 2 * style.MARGIN_SIDE

    @property
    def height(self) -> float:
        """Height of the text on a page in points."""
        return self.size[1] - style.MARGIN_TOP - style.MARGIN_BOTTOM

    def page(self, key: str) -> str:
        """The page of a section as text; empty while it is not known or where the section is absent."""
        return str(self.pages.get(key, ""))


class SectionStart(Flowable):
    """An invisible mark: bookmark, outline entry, section name for the running head, page number for references."""

    def __init__(self, key: str, name: str, level: int = 0):
        super().__init__()
        self.key, self.name, self.level = key, name, level
        self.width = self.height = 0

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """No size."""
        return 0, 0

    def draw(self) -> None:
        """Leave the marks on the page."""
        self.canv.bookmarkPage(self.key)
        self.canv.addOutlineEntry(
            self.name, self.key, level=self.level, closed=self.level == 0 and self.key == "appendix"
        )
        template = self.canv._doctemplate
        template.found_pages.setdefault(self.key, self.canv.getPageNumber())


class ReportDocument(BaseDocTemplate):
    """A document with one frame a page, running head and foot, and page numbers of its sections."""

    def __init__(self, path: Path, sheet: Sheet):
        super().__init__(
            str(path),
            pagesize=sheet.size,
            leftMargin=style.MARGIN_SIDE,
            rightMargin=style.MARGIN_SIDE,
            topMargin=style.MARGIN_TOP,
            bottomMargin=style.MARGIN_BOTTOM,
            invariant=1,
            title=sheet.title,
            author=sheet.author,
            subject=sheet.subject,
            creator="sprayroof",
            lang="en-GB",
            pageCompression=1,
            initialFontName=style.SANS,
            initialFontSize=style.SMALL,
        )
        self.sheet, self.found_pages = sheet, {}
        frame = Frame(
            style.MARGIN_SIDE,
            style.MARGIN_BOTTOM,
            sheet.width,
            sheet.height,
            0,
            0,
            0,
            0,
            id="text",
        )
        self.addPageTemplates(PageTemplate("page", [frame], onPage=self._page_dress))

    def beforeDocument(self) -> None:
        """Set the date of creation; reportlab has no other way to it than its own time stamp."""
        stamp = self.canv._doc._timeStamp
        stamp.t = self.sheet.created.timestamp()
        stamp.lt = tuple(self.sheet.created.timetuple())
        stamp.YMDhms = stamp.lt[:6]

    def _page_dress(self, canvas, document) -> None:
        width, height = self.sheet.size
        left, right = style.MARGIN_SIDE, width - style.MARGIN_SIDE
        number = canvas.getPageNumber()
        canvas.saveState()
        canvas.setFont(style.SANS, style.SMALL)
        canvas.setFillColor(HexColor(style.MUTED))
        canvas.setStrokeColor(HexColor(style.RULE))
        canvas.setLineWidth(0.5)
        if number > 1:
            canvas.drawString(left, height - 38, _clipped(self.sheet.head_left, (right - left) * 0.7))
            canvas.drawRightString(right, height - 38, self.sheet.head_right)
            canvas.line(left, height - 45, right, height - 45)
        total = self.sheet.pages.get("total")
        canvas.drawString(left, 30, _clipped(self.sheet.foot_left, (right - left) * 0.75))
        canvas.drawRightString(right, 30, f"{number} / {total}" if total else f"{number}")
        canvas.restoreState()


def _clipped(text: str, room: float) -> str:
    return fitted(drawn(text, style.SANS), style.SANS, style.SMALL, room)


def lay_out(path: Path, sheet: Sheet, story_of) -> None:
    """Write the document, twice: the first pass learns the page numbers that the second prints.

    Parameters
    ----------
    path : Path
        File to write.
    sheet : Sheet
        Filled with page numbers on the way.
    story_of : callable
        Gives a fresh list of flowables for the sheet.
    """
    style.register_fonts()
    for _ in range(2):
        document = ReportDocument(path, sheet)
        document.build(story_of(sheet))
        sheet.pages = {**document.found_pages, "total": document.page}


def paragraph(text: object, kind: str = "body", longest: int = 600) -> Paragraph:
    """A paragraph of plain text: whatever it holds is shown, never obeyed."""
    look = STYLES[kind]
    return Paragraph(marked(text, look.fontName, longest), look)


def rich(markup: str, kind: str = "body") -> Paragraph:
    """A paragraph of the report's own markup; foreign text in it has to come through `foreign`."""
    return Paragraph(markup, STYLES[kind])


def foreign(text: object, kind: str = "body", longest: int = 600) -> str:
    """Foreign text made safe for `rich`."""
    return marked(text, STYLES[kind].fontName, longest)


def section(key: str, name: str, *content: Flowable, level: int = 1, room: float = 0.0) -> list[Flowable]:
    """Bookmark, title and content of a section; the title goes to the next page where its content cannot begin on this.

    Parameters
    ----------
    key, name : str
        Bookmark and title.
    content : flowables
        What the section holds.
    level : int
        0 for a part of the report, 1 for a section of the appendix.
    room : float
        Points wanted for the beginning of the content, where the content itself is not given.
    """
    title = paragraph(name, "title" if level == 0 else "question")
    wanted = max(height_of([title, *_opening(content)]), height_of([title]) + room)
    return [CondPageBreak(wanted), SectionStart(key, name, level), title, *content]


OPENING_ROWS = 4  # rows of a table, its head among them, that stand with the title


def _opening(content: Sequence[Flowable]) -> list[Flowable]:
    """The beginning of a section that has to stand on the page of its title: all before its first table or picture,
    and that picture, or the first rows of that table."""
    opening: list[Flowable] = []
    for flowable in content:
        if isinstance(flowable, Table):
            rows = flowable.split(WIDEST, _height_of_rows(flowable, OPENING_ROWS))
            return [*opening, rows[0] if rows else flowable]
        opening.append(flowable)
        if isinstance(flowable, Together):
            return opening
    return opening


def _height_of_rows(made: Table, count: int) -> float:
    made.wrap(WIDEST, ENDLESS)
    return sum(made._rowHeights[:count]) + 0.5  # reportlab names the heights so; it has no other way to them


WIDEST, ENDLESS = 1000.0, 1e6


def height_of(flowables: Sequence[Flowable], width: float | None = None) -> float:
    """Height of flowables set one under another, with the spaces between them; `width` of the text in points."""
    total, after = 0.0, 0.0
    for flowable in _in_parts(flowables):
        if isinstance(flowable, (SectionStart, CondPageBreak)):
            continue
        total += max(flowable.getSpaceBefore() - after, 0.0) + flowable.wrap(width or NARROWEST, ENDLESS)[1]
        after = flowable.getSpaceAfter()
        total += after
    return total


NARROWEST = style.PAPERS["A4"][0] - 2 * style.MARGIN_SIDE


def _in_parts(flowables: Sequence[Flowable]) -> list[Flowable]:
    parts: list[Flowable] = []
    for flowable in flowables:
        parts += _in_parts(flowable.parts) if isinstance(flowable, Together) else [flowable]
    return parts


class Together(KeepTogether):
    """Flowables that stay on one page, and can be asked for."""

    def __init__(self, parts: Sequence[Flowable]):
        self.parts = list(parts)
        super().__init__(list(parts))


def fitting(sheet: Sheet, looks: Sequence, build: Callable[..., list[Flowable]], title: bool = True) -> list[Flowable]:
    """The page in the first of several looks, from the most generous to the tightest, that fits; else in the last.

    Parameters
    ----------
    sheet : Sheet
        Its width and height hold.
    looks : sequence
        Whatever `build` takes.
    build : callable
        Gives the content of the page for one look.
    title : bool
        Whether the title of a part of the report stands above.
    """
    room = sheet.height - (height_of([paragraph("Title", "title")]) if title else 0.0)
    for look in looks:
        story = build(look)
        if height_of(story, sheet.width) <= room:
            break
    return story


def chart(question: str, picture: Picture | None, caption: str) -> list[Flowable]:
    """A picture under the question that it answers and over the message that it carries; nothing without a picture."""
    if picture is None:
        return []
    words_under = [paragraph(caption, "caption", 900)] if caption else []
    return [Together([paragraph(question, "question"), picture, *words_under])]


def gap(points: float) -> Spacer:
    """Empty space."""
    return Spacer(1, points)


def table(
    head: Sequence[str],
    rows: Sequence[Sequence[object]],
    widths: Sequence[float],
    *,
    right: Sequence[int] = (),
    bold: Sequence[int] = (),
    with_next: Sequence[int] = (),
    wraps: Sequence[int] = (0,),
    padding: float = 2.6,
    wide_head: bool = False,
    longest: int = LONGEST_CELL,
) -> Table:
    """A quiet table: a rule under the head, hairlines between rows, head repeated on each page.

    Parameters
    ----------
    head, rows : sequences
        Texts (plain; shown as they are) or flowables.
    widths : sequence of float
        Column widths in points.
    right : sequence of int
        Columns set to the right (numbers).
    bold : sequence of int
        Rows set bold.
    with_next : sequence of int
        Rows that stay on the page of the row after them.
    wraps : sequence of int
        Columns whose text may take several lines; others are cut to their width.
    padding : float
        Space above and below each row.
    wide_head : bool
        Let the first head run over the second column.
    longest : int
        Characters of a text that takes several lines; the rest is cut.
    """
    body = []
    for number, row in enumerate(rows):
        is_bold = number in bold
        body.append(
            [_cell(value, widths[column], column in wraps, is_bold, longest) for column, value in enumerate(row)]
        )
    heads = [
        Paragraph(
            f'<para align="{"right" if column in right else "left"}">{marked(text, style.SANS)}</para>', STYLES["head"]
        )
        for column, text in enumerate(head)
    ]
    made = Table([heads, *body], colWidths=list(widths), repeatRows=1, hAlign="LEFT")
    commands = [
        ("FONT", (0, 0), (-1, -1), style.SANS, style.SMALL),
        ("TEXTCOLOR", (0, 0), (-1, -1), HexColor(style.INK)),
        ("LEADING", (0, 0), (-1, -1), 10.4),
        ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
        ("VALIGN", (0, 1), (-1, -1), "TOP"),
        ("LINEBELOW", (0, 0), (-1, 0), 0.8, HexColor(style.INK)),
        ("LINEBELOW", (0, 1), (-1, -1), 0.35, HexColor(style.RULE)),
        ("TOPPADDING", (0, 0), (-1, -1), padding),
        ("BOTTOMPADDING", (0, 0), (-1, -1), padding),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 7),
        ("RIGHTPADDING", (-1, 0), (-1, -1), 0),
    ]
    commands += [("ALIGN", (column, 1), (column, -1), "RIGHT") for column in right]
    commands += [("FONT", (0, row + 1), (-1, row + 1), style.SANS_BOLD, style.SMALL) for row in bold]
    commands += [("NOSPLIT", (0, row + 1), (-1, row + 2)) for row in with_next if row + 1 < len(rows)]
    commands += [("SPAN", (0, 0), (1, 0))] if wide_head else []
    made.setStyle(commands)
    return made


def _cell(value: object, width: float, wraps: bool, bold: bool, longest: int) -> object:
    if isinstance(value, Flowable):
        return value
    font = style.SANS_BOLD if bold else style.SANS
    line = drawn(value, font)
    if wraps and stringWidth(line, font, style.SMALL) > width - 8:
        return paragraph(value, "cell_bold" if bold else "cell", longest)
    return fitted(line, font, style.SMALL, width - 2)


def shares(width: float, *parts: float) -> list[float]:
    """Column widths in the given proportions."""
    total = sum(parts)
    return [width * part / total for part in parts]

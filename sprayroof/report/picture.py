"""A small set of drawing tools for the report's pictures: vector, exact in type size, the same bytes every time.

Coordinates are points with the origin at the picture's lower left corner.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from reportlab.lib.colors import HexColor
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.platypus import Flowable

from sprayroof.report import style
from sprayroof.report.text import drawn

HATCH_STEP = 4.2


class Picture(Flowable):
    """A drawing of fixed size that flows with the text.

    Parameters
    ----------
    width, height : float
        Size in points.
    paint : callable
        Called with a `Pen` when the page is drawn.
    """

    def __init__(self, width: float, height: float, paint: Callable[[Pen], None]):
        super().__init__()
        self.width, self.height, self._paint = width, height, paint

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """The size, whatever room there is."""
        return self.width, self.height

    def draw(self) -> None:
        """Paint on the page."""
        self._paint(Pen(self.canv, self.width, self.height))


@dataclass
class Pen:
    """The page seen by a picture: its canvas and the picture's size."""

    canvas: object
    width: float
    height: float

    def text(
        self,
        x: float,
        y: float,
        text: object,
        *,
        size: float = style.SMALL,
        anchor: str = "start",
        colour: str = style.INK,
        font: str = style.SANS,
        room: float | None = None,
    ) -> float:
        """Write one line with its baseline at y; cut to `room` points. Returns its width."""
        line = fitted(drawn(text, font), font, size, room)
        self.canvas.setFillColor(HexColor(colour))
        self.canvas.setFont(font, size)
        write = {
            "start": self.canvas.drawString,
            "end": self.canvas.drawRightString,
            "middle": self.canvas.drawCentredString,
        }[anchor]
        write(x, y, line)
        return stringWidth(line, font, size)

    def line(
        self, *points: tuple[float, float], colour: str = style.INK, width: float = 0.6, dash: tuple[float, ...] = ()
    ) -> None:
        """A line through the points."""
        path = self.canvas.beginPath()
        path.moveTo(*points[0])
        for point in points[1:]:
            path.lineTo(*point)
        self.canvas.saveState()
        self.canvas.setStrokeColor(HexColor(colour))
        self.canvas.setLineWidth(width)
        self.canvas.setLineJoin(1)
        self.canvas.setDash(list(dash)) if dash else self.canvas.setDash()
        self.canvas.drawPath(path, stroke=1, fill=0)
        self.canvas.restoreState()

    def blank(self, x: float, y: float, width: float, height: float) -> None:
        """Paper again, where something else was drawn."""
        self.canvas.saveState()
        self.canvas.setFillColor(HexColor(style.PAPER))
        self.canvas.rect(x, y, width, height, stroke=0, fill=1)
        self.canvas.restoreState()

    def box(self, x: float, y: float, width: float, height: float, area: style.Area, outline: bool = True) -> None:
        """A filled, hatched rectangle; a negative width runs to the left."""
        if width < 0:
            x, width = x + width, -width
        canvas = self.canvas
        canvas.saveState()
        canvas.setFillColor(HexColor(area.colour))
        canvas.rect(x, y, width, height, stroke=0, fill=1)
        if area.hatch:
            path = canvas.beginPath()
            path.rect(x, y, width, height)
            canvas.clipPath(path, stroke=0, fill=0)
            self._hatch(x, y, width, height, area)
        canvas.restoreState()
        if outline:
            canvas.saveState()
            canvas.setStrokeColor(HexColor(style.INK))
            canvas.setLineWidth(0.5)
            canvas.rect(x, y, width, height, stroke=1, fill=0)
            canvas.restoreState()

    def _hatch(self, x: float, y: float, width: float, height: float, area: style.Area) -> None:
        colour, canvas = HexColor(area.hatch_colour), self.canvas
        canvas.setStrokeColor(colour)
        canvas.setFillColor(colour)
        canvas.setLineWidth(0.7)
        steps = range(math.ceil((width + height) / HATCH_STEP) + 1)
        if area.hatch in "/x":
            for i in steps:
                canvas.line(x + i * HATCH_STEP - height, y, x + i * HATCH_STEP, y + height)
        if area.hatch in "\\x":
            for i in steps:
                canvas.line(x + i * HATCH_STEP - height, y + height, x + i * HATCH_STEP, y)
        if area.hatch == "-":
            for i in range(math.ceil(height / HATCH_STEP)):
                canvas.line(x, y + (i + 0.5) * HATCH_STEP, x + width, y + (i + 0.5) * HATCH_STEP)
        if area.hatch == "|":
            for i in range(math.ceil(width / HATCH_STEP)):
                canvas.line(x + (i + 0.5) * HATCH_STEP, y, x + (i + 0.5) * HATCH_STEP, y + height)
        if area.hatch == ".":
            for i in range(math.ceil(width / HATCH_STEP)):
                for j in range(math.ceil(height / HATCH_STEP)):
                    canvas.circle(x + (i + 0.5) * HATCH_STEP, y + (j + 0.5) * HATCH_STEP, 0.7, stroke=0, fill=1)

    def whisker(self, x_low: float, x_high: float, y: float, cap: float = 3.2) -> None:
        """A horizontal range with end caps, edged in white so that it reads over any fill."""
        for colour, width in ((style.PAPER, 3.0), (style.INK, 1.1)):
            self.line((x_low, y), (x_high, y), colour=colour, width=width)
            self.line((x_low, y - cap), (x_low, y + cap), colour=colour, width=width)
            self.line((x_high, y - cap), (x_high, y + cap), colour=colour, width=width)

    def upright_whisker(self, x: float, y_low: float, y_high: float, cap: float = 2.6) -> None:
        """A vertical range with end caps."""
        for colour, width in ((style.PAPER, 2.6), (style.INK, 1.0)):
            self.line((x, y_low), (x, y_high), colour=colour, width=width)
            self.line((x - cap, y_low), (x + cap, y_low), colour=colour, width=width)
            self.line((x - cap, y_high), (x + cap, y_high), colour=colour, width=width)

    def marker(self, x: float, y: float, kind: str, colour: str, size: float = 2.6) -> None:
        """A small marker: o circle, s square, ^ triangle, d diamond."""
        canvas = self.canvas
        canvas.saveState()
        canvas.setFillColor(HexColor(colour))
        canvas.setStrokeColor(HexColor(style.PAPER))
        canvas.setLineWidth(0.5)
        if kind == "o":
            canvas.circle(x, y, size, stroke=1, fill=1)
        else:
            corners = {
                "s": ((-1, -1), (1, -1), (1, 1), (-1, 1)),
                "^": ((-1.1, -0.9), (1.1, -0.9), (0, 1.2)),
                "d": ((0, -1.4), (1.1, 0), (0, 1.4), (-1.1, 0)),
            }[kind]
            path = canvas.beginPath()
            path.moveTo(x + corners[0][0] * size, y + corners[0][1] * size)
            for dx, dy in corners[1:]:
                path.lineTo(x + dx * size, y + dy * size)
            path.close()
            canvas.drawPath(path, stroke=1, fill=1)
        canvas.restoreState()


def fitted(line: str, font: str, size: float, room: float | None) -> str:
    """`line`, cut with an ellipsis to `room` points."""
    if room is None or stringWidth(line, font, size) <= room:
        return line
    while line and stringWidth(line + "…", font, size) > room:
        line = line[:-1]
    return line.rstrip() + "…"


def spread(wanted: list[float], gap: float, low: float, high: float) -> list[float]:
    """Positions for labels as near to `wanted` as a least `gap` allows, in the same order, within low..high.

    Where there are more labels than the space holds, the gap shrinks to fit.
    """
    if len(wanted) < 2:
        return [min(max(position, low), high) for position in wanted]
    gap = min(gap, (high - low) / (len(wanted) - 1))
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    placed = [min(max(wanted[i], low), high) for i in order]
    for i in range(1, len(placed)):
        placed[i] = max(placed[i], placed[i - 1] + gap)
    placed[-1] = min(placed[-1], high)
    for i in range(len(placed) - 2, -1, -1):
        placed[i] = min(placed[i], placed[i + 1] - gap)
    result = [0.0] * len(wanted)
    for i, position in zip(order, placed, strict=True):
        result[i] = position
    return result


def ticks(low: float, high: float, about: int = 4) -> list[float]:
    """Round tick values that lie within low..high."""
    width = max(high - low, 1e-12)
    raw = width / about
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(power * factor for factor in (1, 2, 2.5, 5, 10) if power * factor >= raw)
    first = math.ceil(low / step - 1e-9)
    return [i * step for i in range(first, math.floor(high / step + 1e-9) + 1)]


def upright_axis(
    pen: Pen, low: float, high: float, base: float, head: float, left: float, right: float, unit: str
) -> None:
    """Round ticks with hairlines from `left` to `right`, and the unit at the axis' head."""
    for tick in ticks(low, high):
        y = base + (tick - low) / ((high - low) or 1.0) * (head - base)
        pen.line((left, y), (right, y), colour=style.RULE, width=0.4)
        pen.text(left - 5, y - 2.8, f"{tick:g}".replace("-", "\u2212"), anchor="end", colour=style.MUTED)
    pen.text(left - 5, pen.height - 8, unit, anchor="end", colour=style.MUTED)

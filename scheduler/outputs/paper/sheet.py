"""Paper: sizes, letters, and the few marks every page is made of, in black and grey only.

Lengths are points (1/72 inch), origin at the lower left as in PDF; ``y`` of a text is its baseline.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from typing import Any

from scheduler.base.faults import DrylineError
from scheduler.words.words import broken_at

A4, LETTER = (595.28, 841.89), (612.0, 792.0)  # ISO 216; US Letter, 8.5 by 11 in
MARGIN = 40.0
GREY, PALE = 0.45, 0.88  # printed lines; shades light enough to write on


def library() -> Any:
    """The canvas class of the PDF library.

    Raises
    ------
    DrylineError
        The library is not installed.
    """
    try:
        from reportlab.pdfgen.canvas import Canvas
    except ImportError:
        raise DrylineError("PDF needs the library reportlab: pip install 'dryline[pdf]'") from None
    return Canvas


def fonts(texts: Sequence[str]) -> tuple[str, str, str]:
    """Names of the regular, bold and heading fonts that can print these texts.

    Western letters take the fonts every PDF reader has; others take wider ones if a drawing library
    that brings them is installed, and print as boxes if not.
    """
    try:
        "".join(texts).encode("cp1252")
        return "Helvetica", "Helvetica-Bold", "Times-Bold"
    except UnicodeEncodeError:
        pass
    found = importlib.util.find_spec("matplotlib")
    folder = Path(str(found.origin)).parent / "mpl-data" / "fonts" / "ttf" if found else None
    if folder is None or not (folder / "DejaVuSans.ttf").is_file():
        return "Helvetica", "Helvetica-Bold", "Times-Bold"
    from reportlab.pdfbase.pdfmetrics import registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    names = ("DejaVuSans", "DejaVuSans-Bold", "DejaVuSerif-Bold")
    for name in names:
        registerFont(TTFont(name, str(folder / f"{name}.ttf")))
    return names


@lru_cache(maxsize=32768)
def _width(text: str, font: str) -> float:
    """Width in letters of 1 point."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return float(stringWidth(text, font, 1))


class Sheet:
    """One page after the other, with a foot line on each.

    ``width``, ``height`` and ``right`` are those of the page in work and, between pages, of the
    next one: a text may be wrapped before its page is begun.
    """

    def __init__(
        self, out: Any, paper: tuple[float, float], faces: tuple[str, str, str], foot: str
    ) -> None:
        self.canvas = library()(out, pagesize=paper, pageCompression=1, invariant=1)
        self.paper = paper
        self.regular, self.bold, self.heading = faces
        self._foot = foot
        self._number = 0
        self.width, self.height = paper
        self._open = False

    @property
    def left(self) -> float:
        return MARGIN

    @property
    def right(self) -> float:
        return self.width - MARGIN

    @property
    def bottom(self) -> float:
        """Lowest line of text above the foot line."""
        return MARGIN + 16

    @contextmanager
    def landscape(self) -> Iterator[None]:
        """Pages begun in here lie on their side; those after stand upright again."""
        self.close_page()
        self.width, self.height = self.paper[::-1]
        yield
        self.close_page()
        self.width, self.height = self.paper

    def new_page(self, bookmark: str = "") -> float:
        """Start a page; returns the y of its top margin."""
        self.close_page()
        self.canvas.setPageSize((self.width, self.height))
        self._number += 1
        self._open = True
        if bookmark:
            key = f"p{self._number}"
            self.canvas.bookmarkPage(key)
            self.canvas.addOutlineEntry(bookmark, key, 0)
        size, _lines = self.inside(self._foot, self.right - self.left - 30, 8)
        self.text(self.left, MARGIN - 8, self._foot, size, grey=GREY)
        self.text(self.right, MARGIN - 8, str(self._number), 8, grey=GREY, align="right")
        return self.height - MARGIN

    def close_page(self) -> None:
        if self._open:
            self.canvas.showPage()
            self._open = False

    def save(self) -> None:
        self.close_page()
        self.canvas.save()

    def measure(self, text: str, size: float, font: str = "") -> float:
        return size * _width(text, font or self.regular)

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        font: str = "",
        *,
        grey: float = 0.0,
        align: str = "left",
    ) -> float:
        """Print a line; returns its width."""
        c = self.canvas
        text = text.replace("\N{NO-BREAK SPACE}", " ")  # it has done its work
        c.setFont(font or self.regular, size)
        c.setFillGray(grey)
        wide = self.measure(text, size, font)
        c.drawString(x - {"left": 0, "right": wide, "middle": wide / 2}[align], y, text)
        c.setFillGray(0)
        return wide

    def inside(
        self, text: str, width: float, size: float, font: str = "", tall: float = 0.0
    ) -> tuple[float, list[str]]:
        """``text`` in letters of at most ``size`` that fit a place, and its lines.

        Nothing is cut off: letters get smaller, and there are more lines where ``tall`` [pt] has
        room for them. Only what is too long for letters of 3 points is wider or taller.
        """
        for shown in (size - 0.5 * n for n in range(int(2 * (size - 3)) + 1)):
            lines = self.wrap(text, width, shown, font)
            broken = any(self.measure(w, shown, font) > width for w in broken_at(text))
            if not broken and (len(lines) == 1 or len(lines) * 1.15 * shown <= tall):
                return shown, lines
        lines = self.wrap(text, width, 3.0, font)
        return 3.0, lines if len(lines) * 3.45 <= max(tall, 3.45) else [text]

    def wrap(self, text: str, width: float, size: float, font: str = "") -> list[str]:
        """Lines no wider than ``width``; a word that is wider is cut."""
        lines, line = [], ""
        for whole in broken_at(text):
            word = whole
            while self.measure(word, size, font) > width:
                end = len(word)
                while end > 1 and self.measure(word[:end], size, font) > width:
                    end -= 1
                head = word[:end]
                if line:
                    lines.append(line)
                    line = ""
                lines.append(head)
                word = word[len(head) :]
            joined = f"{line} {word}".strip()
            if line and self.measure(joined, size, font) > width:
                lines.append(line)
                joined = word
            line = joined
        return [*lines, line] if line or not lines else lines

    def line(
        self,
        x1: float,
        y1: float,
        x2: float,
        y2: float,
        *,
        width: float = 0.6,
        grey: float = 0.0,
        dash: tuple[float, ...] = (),
    ) -> None:
        c = self.canvas
        c.setLineWidth(width)
        c.setStrokeGray(grey)
        c.setDash(*((list(dash), 0) if dash else ([], 0)))
        c.line(x1, y1, x2, y2)
        c.setDash([], 0)
        c.setStrokeGray(0)

    def box(self, x: float, y: float, size: float) -> None:
        """A box to tick, its lower left corner at x, y."""
        self.canvas.setLineWidth(0.9)
        self.canvas.rect(x, y, size, size, stroke=1, fill=0)

    def tag(
        self, x: float, y: float, text: str, size: float, most: float = 1e9, tall: float = 0.0
    ) -> float:
        """A tier tag as it hangs on a column: cut corners, a hole, the label; returns its width.

        A label wider than ``most`` has smaller letters, and more lines where ``tall`` has room.
        """
        high, cut = size * 1.45, size * 0.4
        shown, lines = self.inside(text, most - size * 1.4, size, self.bold, max(tall, high))
        wide = max(self.measure(part, shown, self.bold) for part in lines) + size * 1.5
        low = y - size * 0.4
        if len(lines) > 1 or shown < size:
            grown = max(high, len(lines) * 1.15 * shown)
            low, high = low - (grown - high) / 2, grown
        path = self.canvas.beginPath()
        path.moveTo(x + cut, low)
        for dx, dy in ((wide, 0), (wide, high), (cut, high), (0, high - cut), (0, cut)):
            path.lineTo(x + dx, low + dy)
        path.close()
        self.canvas.setLineWidth(0.8)
        self.canvas.drawPath(path, stroke=1, fill=0)
        self.canvas.circle(x + size * 0.55, low + high / 2, size * 0.16, stroke=1, fill=0)
        at = low + high / 2 + len(lines) * 1.15 * shown / 2 - 0.86 * shown
        for part in lines:
            self.text(x + size * 1.05, at, part, shown, self.bold)
            at -= 1.15 * shown
        return wide

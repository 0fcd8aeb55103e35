"""Paper: its sizes, its typefaces, and text that is only text."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from xml.sax.saxutils import escape

MM = 72 / 25.4  # points
PAPERS = {"a4": (210 * MM, 297 * MM), "letter": (612.0, 792.0)}  # ISO 216; ANSI/ASME Y14.1 size A, 8.5 by 11 in
BODY, BOLD = "Sheet", "Sheet-Bold"
_OTHER = {BODY: "Sheet-Other", BOLD: "Sheet-Other-Bold"}
# A wider set of letters, where the machine has it (Debian: fonts-dejavu-core).
_DEJAVU = Path("/usr/share/fonts/truetype/dejavu")


@lru_cache(maxsize=1)
def fonts() -> dict[str, frozenset[int]]:
    """Registers the typefaces with reportlab, once; the characters that each of them has."""
    from reportlab.lib.fonts import addMapping
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    files = {BODY: "Vera.ttf", BOLD: "VeraBd.ttf"}
    found = {"DejaVuSans.ttf": _OTHER[BODY], "DejaVuSans-Bold.ttf": _OTHER[BOLD]}
    files |= {name: str(_DEJAVU / file) for file, name in found.items() if (_DEJAVU / file).is_file()}
    have = {}
    for name, file in files.items():
        font = TTFont(name, file)
        pdfmetrics.registerFont(font)
        have[name] = frozenset(font.face.charToGlyph)
    for bold, name in ((0, BODY), (1, BOLD)):
        addMapping(BODY, bold, 0, name)
    return have


def runs(text: str, font: str = BODY) -> list[tuple[str, str]]:
    """`text` in pieces (typeface, piece); a character that no typeface has is spelled as its code point, '[U+6E29]'."""
    have = fonts()
    other = _OTHER[font]
    pieces: list[tuple[str, str]] = []
    for character in text:
        if ord(character) in have[font]:
            name = font
        elif ord(character) in have.get(other, ()):
            name = other
        else:
            name, character = font, f"[U+{ord(character):04X}]"
        if pieces and pieces[-1][0] == name:
            pieces[-1] = (name, pieces[-1][1] + character)
        else:
            pieces.append((name, character))
    return pieces


def in_one_font(text: str, font: str = BODY) -> tuple[str, str]:
    """A typeface for all of `text`, for places that take only one, and the text as that typeface can show it."""
    other = _OTHER[font]
    pieces = runs(text, font)
    if any(name == other for name, _ in pieces):
        have = fonts()[other]
        return other, "".join(c if ord(c) in have else f"[U+{ord(c):04X}]" for c in text)
    return font, "".join(piece for _, piece in pieces)


def markup(text: str, font: str = BODY) -> str:
    """`text` for a reportlab paragraph, in which nothing of it is markup."""
    return "".join(
        escape(piece) if name == font else f'<font name="{name}">{escape(piece)}</font>'
        for name, piece in runs(text, font)
    )


def width_of(text: str, font: str, size: float) -> float:
    """The width of one line, in points."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return sum(stringWidth(piece, name, size) for name, piece in runs(text, font))


def draw(canvas, x: float, y: float, text: str, font: str, size: float) -> None:
    """One line of text from (x, y) on, in the typefaces that have its characters."""
    for name, piece in runs(text, font):
        canvas.setFont(name, size)
        canvas.drawString(x, y, piece)
        x += width_of(piece, name, size) if name in _OTHER else canvas.stringWidth(piece, name, size)


def wrapped(text: str, font: str, size: float, width: float) -> list[str]:
    """`text` in lines no wider than `width`; a word that is too wide is cut."""
    lines, line = [], ""
    for word in text.split():
        for piece in _pieces(word, font, size, width):
            joined = f"{line} {piece}".strip()
            if line and width_of(joined, font, size) > width:
                lines.append(line)
                joined = piece
            line = joined
    return [*lines, line] if line else lines


def _pieces(word: str, font: str, size: float, width: float) -> list[str]:
    pieces = []
    while len(word) > 1 and width_of(word, font, size) > width:
        end = max(n for n in range(1, len(word)) if n == 1 or width_of(word[:n], font, size) <= width)
        pieces.append(word[:end])
        word = word[end:]
    return [*pieces, word]

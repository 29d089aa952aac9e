"""Text made safe and readable on paper: no markup, no control characters, right-to-left in order, nothing lost unseen."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from itertools import groupby
from xml.sax.saxutils import escape

import arabic_reshaper  # type: ignore[import-untyped]
from bidi import get_display  # type: ignore[import-untyped]
from reportlab.pdfbase.pdfmetrics import stringWidth

from loft.documents import typefaces
from loft.documents.typefaces import REGULAR

_RIGHT_TO_LEFT = re.compile("[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc]")
_VARIATION_SELECTORS = {chr(c) for c in range(0xFE00, 0xFE10)}
_NO_GLYPH_NEEDED = {"Cc", "Cf", "Cs"}

Run = tuple[str, str]  # typeface, text in the order it is drawn


def clean(text: str) -> str:
    """One line of plain text: composed characters, white space as single blanks, no control or invisible characters."""
    composed = unicodedata.normalize("NFC", text)
    blanks = "".join(" " if c.isspace() else c for c in composed)
    kept = (c for c in blanks if unicodedata.category(c) not in _NO_GLYPH_NEEDED and c not in _VARIATION_SELECTORS)
    return re.sub(" +", " ", "".join(kept)).strip()


def missing_characters(text: str) -> tuple[str, ...]:
    """The characters that the loft's paper cannot print, each once, in order; they are printed as ``[U+1F600]``."""
    return tuple(dict.fromkeys(c for c in clean(text) if typefaces.face_for(c, REGULAR) is None))


def printable(text: str) -> str:
    """Clean text in reading order, each character without a glyph as ``[U+1F600]``: for a screen, which orders and shapes by itself."""
    return "".join(c if typefaces.face_for(c, REGULAR) else f"[U+{ord(c):04X}]" for c in clean(text))


def is_right_to_left(text: str) -> bool:
    return _RIGHT_TO_LEFT.search(text) is not None


@lru_cache(maxsize=4096)
def visible(text: str) -> str:
    """The text as it is drawn from left to right, with a visible substitute for what cannot be printed."""
    plain = printable(text)
    if not is_right_to_left(plain):
        return plain
    return str(get_display(arabic_reshaper.reshape(plain)))


@lru_cache(maxsize=4096)
def runs(text: str, font: str = REGULAR) -> tuple[Run, ...]:
    """The drawn text divided by the typeface that sets each piece."""
    drawn = visible(text)
    return tuple((face, "".join(group)) for face, group in groupby(drawn, key=lambda c: typefaces.face_for(c, font) or font))


def width(text: str, size: float, font: str = REGULAR) -> float:
    """How wide the text is drawn, in the unit of `size`."""
    return sum(stringWidth(piece, face, size) for face, piece in runs(text, font))


def markup(text: str, font: str = REGULAR) -> str:
    """The text for a paragraph set in `font`: escaped, so that nothing in it is read as markup."""
    pieces = (escape(piece) if face == font else f'<font name="{face}">{escape(piece)}</font>' for face, piece in runs(text, font))
    return "".join(pieces)


def lines(text: str, size: float, room: float, font: str = REGULAR) -> tuple[str, ...]:
    """The text broken between words into lines that fit `room`, in reading order; a single longer word is left whole."""
    broken: list[str] = []
    for word in clean(text).split(" "):
        longer = f"{broken[-1]} {word}" if broken else word
        if broken and width(longer, size, font) <= room:
            broken[-1] = longer
        else:
            broken.append(word)
    return tuple(broken)


def wrapped_markup(text: str, size: float, room: float, font: str = REGULAR) -> str:
    """Markup for a paragraph of this width; right-to-left text is broken before it is turned, so that its lines read downwards."""
    if not is_right_to_left(text):
        return markup(text, font)
    return "<br/>".join(markup(line, font) for line in lines(text, size, room, font))


def fitting_size(text: str, largest: float, room: float, font: str = REGULAR) -> float:
    """The largest size up to `largest` at which the text fits `room` on one line."""
    full = width(text, largest, font)
    return largest if full <= room else largest * room / full

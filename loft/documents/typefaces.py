"""The typefaces of the loft's paper, registered once, and which of them has a character.

Lato sets the page; DejaVu Sans Condensed stands in for a character that Lato lacks (Hebrew, Arabic, signs).
"""

from __future__ import annotations

from pathlib import Path

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

REGULAR, BOLD, ITALIC = "Lato", "Lato-Bold", "Lato-Italic"
_WIDE_REGULAR, _WIDE_BOLD = "DejaVuCondensed", "DejaVuCondensed-Bold"

_FILES = {
    REGULAR: "Lato-Regular.ttf",
    BOLD: "Lato-Bold.ttf",
    ITALIC: "Lato-Italic.ttf",
    _WIDE_REGULAR: "DejaVuSansCondensed.ttf",
    _WIDE_BOLD: "DejaVuSansCondensed-Bold.ttf",
}
_FALLBACK = {REGULAR: _WIDE_REGULAR, ITALIC: _WIDE_REGULAR, BOLD: _WIDE_BOLD}


def _registered() -> dict[str, TTFont]:
    folder = Path(__file__).parent / "fonts"
    fonts = {name: TTFont(name, str(folder / file)) for name, file in _FILES.items()}
    for font in fonts.values():
        pdfmetrics.registerFont(font)
    pdfmetrics.registerFontFamily(REGULAR, normal=REGULAR, bold=BOLD, italic=ITALIC, boldItalic=BOLD)
    return fonts


_FONTS = _registered()


def has(font: str, character: str) -> bool:
    """Whether a typeface has a glyph for this character."""
    return ord(character) in _FONTS[font].face.charToGlyph


def face_for(character: str, font: str) -> str | None:
    """The typeface that sets this character when `font` is wanted: itself, its stand-in, or None when neither can."""
    if has(font, character):
        return font
    stand_in = _FALLBACK[font]
    return stand_in if has(stand_in, character) else None

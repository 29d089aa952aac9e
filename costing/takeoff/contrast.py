"""Whether numbers and insignia can be read on the cloth: the contrast of two colours by their names.

The contrast of two colours is (L1 + 0.05) / (L2 + 0.05) with L the relative luminance of sRGB (Web Content Accessibility Guidelines 2.x,
W3C); 3 is what they ask of large letters and signs. That measure is for screens in still air: on the water it is a least, not an aim. The
sRGB of a cloth's colour is ours, read off nothing but its name: a name that is not in the table is looked at by eye.
"""

from __future__ import annotations

LEAST = 3.0

#: sRGB of what lofts call their cloths and films (ours, common practice, no source).
COLOURS: dict[str, tuple[int, int, int]] = {
    "white": (250, 250, 248), "natural": (238, 232, 215), "cream": (240, 230, 200), "clear": (235, 238, 240), "light grey": (200, 204, 206),
    "silver": (192, 192, 192), "grey": (128, 132, 136), "dark grey": (74, 78, 82), "black": (20, 20, 22),
    "red": (196, 30, 40), "dark red": (130, 20, 28), "orange": (240, 120, 20), "yellow": (250, 215, 30), "gold": (212, 165, 40),
    "light green": (130, 200, 120), "green": (20, 120, 60), "dark green": (10, 70, 40), "turquoise": (40, 170, 170),
    "light blue": (130, 185, 225), "blue": (20, 70, 160), "dark blue": (18, 34, 84), "navy": (18, 34, 84), "royal blue": (30, 60, 180),
    "purple": (95, 40, 130), "violet": (120, 60, 160), "pink": (235, 110, 160), "brown": (110, 70, 40), "tan": (190, 120, 70),
    "fluorescent orange": (255, 100, 0), "fluorescent yellow": (225, 255, 0),
}  # fmt: skip


def known(colour: str) -> bool:
    """Whether the table has a colour of this name."""
    return _key(colour) in COLOURS


def contrast(one: str, other: str) -> float:
    """The contrast of two colours by name, from 1 (the same) to 21; KeyError for a name that is not in the table."""
    low, high = sorted((_luminance(COLOURS[_key(one)]), _luminance(COLOURS[_key(other)])))
    return (high + 0.05) / (low + 0.05)


def said_of(numbers: str, cloth: str) -> str:
    """What is to be said of marks in one colour on cloth of another; empty where they can be read."""
    if _key(numbers) == _key(cloth):
        return f"as {cloth} as the sail and cannot be read"
    unknown = [colour for colour in (numbers, cloth) if not known(colour)]
    if unknown:
        return f"{numbers} on {cloth}: no luminance of {' and '.join(unknown)} is known, look by eye whether they can be read"
    ratio = contrast(numbers, cloth)
    if ratio < LEAST:
        return f"{numbers} on {cloth}, contrast {ratio:.1f} where {LEAST:g} is the least: they are hard to read on the water"
    return ""


def _key(colour: str) -> str:
    return " ".join(colour.casefold().split())


def _luminance(rgb: tuple[int, int, int]) -> float:
    red, green, blue = (_linear(value / 255) for value in rgb)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(value: float) -> float:
    return value / 12.92 if value <= 0.04045 else float(((value + 0.055) / 1.055) ** 2.4)

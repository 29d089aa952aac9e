"""Text on paper: safe, readable, nothing lost unseen."""

from __future__ import annotations

import pytest

from loft.documents import layout, lettering, missing_characters, page
from loft.documents.typefaces import BOLD, REGULAR
from tests.documents import reading


@pytest.mark.parametrize(
    ("label", "given", "printed"),
    [
        ("plain", "Heron 214", "Heron 214"),
        ("control characters go", "Bell\x07 Buoy\x00", "Bell Buoy"),
        ("a line break is a blank", "Bell\r\n Buoy\t2", "Bell Buoy 2"),
        ("direction marks go", "Zoë\u202e O’Neil", "Zoë O’Neil"),
        ("composed", "Zoe\u0308", "Zoë"),
        ("variation selectors go", "sun\ufe0f", "sun"),
        ("emoji stays visible", "Tern 🐦", "Tern [U+1F426]"),
        ("Japanese stays visible", "鴎", "[U+9D0E]"),
        ("Hebrew is drawn from the right", "שלום", "םולש"),
        ("Greek", "Ζέφυρος", "Ζέφυρος"),
        ("Cyrillic", "Чайка", "Чайка"),
    ],
)
def test_visible(label: str, given: str, printed: str) -> None:
    assert lettering.visible(given) == printed, label


def test_arabic_is_joined_and_turned() -> None:
    # Unicode chart "Arabic Presentation Forms-B": U+FE91 is beh in its initial form, U+FEAE reh in its final form
    assert lettering.visible("بر") == "\ufeae\ufe91"


def test_a_number_in_hebrew_keeps_its_direction() -> None:
    # Unicode Standard Annex 9: digits run left to right inside right-to-left text
    assert lettering.visible("שחף 214") == "214 ףחש"


@pytest.mark.parametrize(
    ("label", "given", "missing"),
    [
        ("none", "Łódź Ζ Ж ש ب × − ≤", ()),
        ("each once, in order", "a🐦b🏴c🐦", ("🐦", "🏴")),
        ("invisible ones are not missed", "a\u200d\ufe0f\x07", ()),
    ],
)
def test_missing_characters(label: str, given: str, missing: tuple[str, ...]) -> None:
    assert missing_characters(given) == missing, label


def test_markup_is_escaped() -> None:
    assert lettering.markup('<img src="file:///etc/passwd"/> & <b>') == '&lt;img src="file:///etc/passwd"/&gt; &amp; &lt;b&gt;'


def test_the_stand_in_sets_what_the_first_typeface_lacks() -> None:
    assert lettering.runs("A שב", REGULAR) == (("Lato", "A "), ("DejaVuCondensed", "בש"))
    assert lettering.runs("ש", BOLD) == (("DejaVuCondensed-Bold", "ש"),)


def test_right_to_left_text_breaks_before_it_is_turned() -> None:
    words = "אחת שתיים שלוש"
    room = lettering.width("אחת שתיים", 10)
    assert lettering.lines(words, 10, room) == ("אחת שתיים", "שלוש")
    first, second = lettering.wrapped_markup(words, 10, room).split("<br/>")
    assert "תחא" in first
    assert "שולש" in second


def test_fitting_size() -> None:
    full = lettering.width("Whimbrel 155", 40, BOLD)
    assert lettering.fitting_size("Whimbrel 155", 40, full, BOLD) == 40
    assert lettering.fitting_size("Whimbrel 155", 40, full / 2, BOLD) == pytest.approx(20)


@pytest.mark.parametrize(("label", "given"), [("Hebrew", "שלום"), ("Latin", "Heron"), ("two typefaces", "Heron שלום")])
def test_a_cell_of_a_table_is_set_in_a_typeface_that_has_its_letters(label: str, given: str) -> None:
    sheet = page.Sheet(story=[layout.table((), [(given, "")], (60, 60))], foot="", running=("", ""))
    assert reading.text(page.render((sheet,), title="", author="")).strip().startswith(given), label

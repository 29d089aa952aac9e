"""Contrast of numbers with the cloth, against figures of the guideline that it is taken from."""

from __future__ import annotations

import pytest

from costing.takeoff import contrast


@pytest.mark.parametrize(
    ("rgb", "expected"),
    [
        # W3C, "Contrast (Minimum)" and its techniques: black on white 21; #767676 on white 4.54, #949494 on white 3.03 (from memory)
        ((0, 0, 0), 21.0),
        ((0x76, 0x76, 0x76), 4.54),
        ((0x94, 0x94, 0x94), 3.03),
        ((255, 255, 255), 1.0),
    ],
)
def test_the_measure_is_the_guideline_s(rgb: tuple[int, int, int], expected: float, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(contrast.COLOURS, "one", rgb)
    monkeypatch.setitem(contrast.COLOURS, "pure white", (255, 255, 255))
    assert contrast.contrast("one", "pure white") == pytest.approx(expected, abs=0.005)
    assert contrast.contrast("pure white", "one") == contrast.contrast("one", "pure white")


@pytest.mark.parametrize(
    ("numbers", "cloth", "said"),
    [
        ("black", "white", ""),
        ("red", "white", ""),
        ("Blue", "light  grey", ""),
        ("black", "red", ""),
        ("WHITE", "white", "cannot be read"),
        ("yellow", "white", "hard to read"),
        ("navy", "black", "hard to read"),
        ("chartreuse", "white", "no luminance of chartreuse is known, look by eye"),
        ("black", "smoke", "no luminance of smoke is known"),
    ],
)
def test_what_is_said(numbers: str, cloth: str, said: str) -> None:
    found = contrast.said_of(numbers, cloth)
    assert said in found if said else found == ""

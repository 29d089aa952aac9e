"""Spinnakers from the class's limits to the price: sizes that a rule or "assumed" explains, cloth, seams and minutes by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

import pytest

from costing.cloth import Orientation, seam_lengths
from costing.errors import InputError
from costing.quote import BatchResult, Design, SailRequest, freeze_design, price_batch, thaw_design
from tests import skerling, spinnakers

BOTH = pytest.mark.parametrize("kind", ["symmetric", "asymmetric"])


def design_of(result: BatchResult) -> Design:
    (design,) = result.designs.values()
    return design


class TestSizes:
    def test_each_is_the_limit_less_margin_or_assumed(self) -> None:
        design = design_of(spinnakers.priced())
        assert [(t.measurement, str(t.value), t.decided_by, t.rule) for t in design.targets] == [
            ("leech_length", "4290", "limit", "C.8.3 (a)"),
            ("foot_length", "2390", "limit", "C.8.3 (b)"),
            ("foot_median", "4470", "limit", "C.8.3 (d)"),
            ("half_width", "2440", "limit", "C.8.3 (c)"),
            ("luff_length", "4290", "assumed", ""),
            ("top_width", "0.000", "assumed", ""),
            ("quarter_width", "2724.615", "assumed", ""),
            ("three_quarter_width", "1479.719", "assumed", ""),
        ]
        measured = dict(design.sizes)
        assert [str(measured[n]) for n in ("luff_length", "leech_length", "foot_length", "half_width", "foot_median")] == [
            "4290.0", "4290.0", "2390.0", "2440.0", "4470.0",
        ]  # fmt: skip

    def test_the_flat_convention_is_said(self) -> None:
        assert any(a.startswith("Outline: a flat convention") for a in design_of(spinnakers.priced()).assumed)
        assert not any("Luff curve" in a for a in design_of(spinnakers.priced()).assumed)

    def test_an_asked_leech_over_the_limit_is_refused_with_its_rule(self) -> None:
        asked = SailRequest("row 2", "Heron", "Maud Pellow", "214", sizes={"leech_length": Decimal(4310)})
        with pytest.raises(InputError) as caught:
            price_batch(spinnakers.request(asked), spinnakers.symmetric(), on=skerling.PRICED_ON)
        assert [(p.path, p.code) for p in caught.value.problems] == [("row 2.leech_length", "outside_maximum")]
        assert "C.8.3 (a)" in caught.value.problems[0].message

    def test_an_asymmetric_one_has_its_own_luff(self) -> None:
        sizes = dict(design_of(spinnakers.priced("asymmetric")).sizes)
        assert (str(sizes["luff_length"]), str(sizes["leech_length"])) == ("4700.0", "4290.0")


class TestTakeOff:
    @BOTH
    def test_seams_tape_and_thread_by_hand(self, kind: str) -> None:
        design = design_of(spinnakers.priced(kind))
        amount = design.takeoff.amount
        # every seam carried by two panels: half of the sum over all pieces of sew lines, to the millimetre that each is rounded to
        pieces = [math.dist(a, b) for p in design.panels for s in p.more_sews for a, b in pairwise(s.line)]
        names = {s.seam for p in design.panels for s in p.more_sews}
        assert float(amount("three_step_seam_m")) * 1000 == pytest.approx(sum(pieces) / 2, abs=len(names))
        assert amount("three_step_seam") == len(names) == len(seam_lengths(design.panels))
        assert amount("seam") == amount("seam_m") == amount("luff_m") == 0
        edge = sum(math.dist(a, b) for line in (design.outline.luff, design.outline.leech, design.outline.foot) for a, b in pairwise(line))
        assert float(amount("edge_tape_m")) * 1000 == pytest.approx(edge, abs=2)
        used = {m.material: m.amount for m in design.takeoff.materials}
        # trade figures: three-step 3.7 m of thread a metre, tape 1.15 x the seams and the patches' edges, edge tape 3 % over
        assert used["THREAD-V46"] == Decimal("3.7") * (amount("three_step_seam_m") + amount("edge_tape_m"))
        assert used["TAPE-6"] == Decimal("1.15") * amount("three_step_seam_m") + amount("patch_edge_m")
        assert used["EDGE-TAPE-30"] == Decimal("1.03") * amount("edge_tape_m")

    def test_counts_of_the_tri_radial(self) -> None:
        design = design_of(spinnakers.priced())
        amount = design.takeoff.amount
        # 5 + 4 + 4 gores and 2 panels of the centre; 4 + 3 + 3 seams between gores, 3 joints, 1 seam of the centre; 3 patches of 3 layers
        counted = [amount(code) for code in ("panel", "three_step_seam", "patch", "patch_layer", "webbed_ring", "pocket")]
        assert counted == [15, 14, 3, 9, 3, 0]

    @BOTH
    def test_minutes_by_hand(self, kind: str) -> None:
        result = spinnakers.priced(kind)
        amount = design_of(result).takeoff.amount
        minutes = {o.operation: o.own_min for o in result.batch.sails[0].operations}
        metres, seams = amount("three_step_seam_m"), amount("three_step_seam")
        # own minutes of nylon spinnakers: 1.2 a metre and 3 a seam for one row of three-step; none of the zig-zag's
        assert minutes["sew_three_step"] == (Decimal("1.2") * metres + 3 * seams).quantize(Decimal("0.001"))
        assert minutes["stick_light_seams"] == (Decimal("2.5") * metres).quantize(Decimal("0.001"))
        assert minutes["edge_tape"] == 3 * amount("edge_tape_m")
        assert not {"sew_seams", "stick_seams", "tabling", "luff_tape", "pocket_short", "numbers"} & minutes.keys()


class TestPrice:
    @BOTH
    def test_the_price_is_the_cost_over_one_less_the_target(self, kind: str) -> None:
        result = spinnakers.priced(kind)
        heron = result.batch.sails[0]
        labour = sum((line.amount for line in heron.cost_lines if line.group == "labour"), Decimal(0))
        assert 0 < labour < heron.cost
        # cent rounding of the unit price: the margin is 42 % to a hundredth of a per cent
        assert (heron.items[0].unit_price - heron.one_off_cost) / heron.items[0].unit_price == pytest.approx(
            Decimal("0.42"), abs=Decimal("1e-4")
        )
        assert heron.numbers is None

    @BOTH
    def test_cloth_is_what_its_audited_lay_takes(self, kind: str) -> None:
        result = spinnakers.priced(kind)
        (lay,) = design_of(result).lays
        (line,) = (x for x in result.batch.sails[0].cost_lines if x.code == "NR41")
        assert lay.material == "NR41" and line.quantity == pytest.approx(Decimal(lay.length_mm) / 1000, abs=Decimal("0.001"))
        assert lay.usable_width_mm == 1485

    @BOTH
    def test_a_design_comes_back_from_its_bytes(self, kind: str) -> None:
        design = design_of(spinnakers.priced(kind))
        assert thaw_design(freeze_design(design)) == design


class TestRefused:
    def test_cloth_whose_strong_threads_lie_across_the_gores(self) -> None:
        house = spinnakers.symmetric()
        cloths = {**house.cloths, "NR41": replace(house.cloths["NR41"], orientation=Orientation.FILL)}
        with pytest.raises(InputError) as caught:
            boat = SailRequest("row 2", "Heron", "Maud Pellow", "214")
            price_batch(spinnakers.request(boat), replace(house, cloths=cloths), on=skerling.PRICED_ON)
        assert ("row 2.cloth", "orientation") in [(p.path, p.code) for p in caught.value.problems]
        assert "gores run along the warp" in caught.value.problems[0].message

    def test_sailcloth_of_the_main_is_not_permitted(self) -> None:
        boat = SailRequest("row 2", "Heron", "Maud Pellow", "214", cloth="WP175")
        with pytest.raises(InputError) as caught:
            price_batch(spinnakers.request(boat), spinnakers.symmetric(), on=skerling.PRICED_ON)
        assert ("row 2.cloth", "cloth_not_permitted") in [(p.path, p.code) for p in caught.value.problems]

    def test_a_number_is_forbidden_by_the_class(self) -> None:
        boat = SailRequest("row 2", "Heron", "Maud Pellow", "214", options=frozenset({"numbers"}))
        with pytest.raises(InputError) as caught:
            price_batch(spinnakers.request(boat), spinnakers.symmetric(), on=skerling.PRICED_ON)
        assert [p.message for p in caught.value.problems] == ["Sail numbers on both sides is forbidden (C.8.4 (a))"]


def test_a_suit_of_main_and_spinnaker() -> None:
    """One boat orders both: each sail by its own pattern, cloth and kit; what is done once a boat is done once."""
    house = replace(skerling.house(), others=(spinnakers.symmetric().pattern,))
    boats = [SailRequest(f"row {i}", "Heron", "Maud Pellow", "214", pattern=code) for i, code in ((2, "SK13-MAIN"), (3, "SK13-SPI"))]
    batch = price_batch(spinnakers.request(*boats), house, on=skerling.PRICED_ON).batch
    main, spinnaker = batch.sails
    assert {line.code for line in main.cost_lines} & {"DW170", "THREAD-V69"} == {"DW170", "THREAD-V69"}
    assert {line.code for line in spinnaker.cost_lines} & {"NR41", "THREAD-V46", "DW170"} == {"NR41", "THREAD-V46"}
    assert main.numbers is not None and spinnaker.numbers is None
    by_boat = [next(o for o in sail.operations if o.operation == "check_and_confirm").own_min for sail in batch.sails]
    assert sorted(by_boat) == [0, 6]

"""The floor's sheets: what the cutter, the sewer and the finisher read."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from costing.cloth import Panel
from costing.rules import ByEye, Limit
from loft.documents import (
    TicketDocument,
    cutter_sheet_pdf,
    finisher_sheet_pdf,
    lay_marks,
    panel_sizes,
    sewer_sheet_pdf,
    tickets_pdf,
    wording,
)
from loft.documents.content import FitLine
from tests.documents import reading, sample


@pytest.fixture(scope="module")
def ticket() -> TicketDocument:
    return sample.ticket(1)


@pytest.fixture(scope="module")
def cutter(ticket: TicketDocument) -> str:
    return reading.text(cutter_sheet_pdf(ticket))


@pytest.fixture(scope="module")
def finisher(ticket: TicketDocument) -> str:
    return reading.text(finisher_sheet_pdf(ticket))


@pytest.fixture(scope="module")
def pages() -> list[str]:
    """A ticket that is held for its deposit and number, and one that is released, in one file."""
    return reading.page_words(tickets_pdf([sample.ticket(sample.line_to_follow(), "deposit", "sail number"), sample.ticket(1)]))


class TestCutter:
    @pytest.mark.parametrize(
        "fact",
        [
            "CUTTER",
            "Order O-2026-0001",
            "Ticket O-2026-0001-01",
            "Due 20 Apr 2026",
            "Heron 214",
            "FACE UP",
            "drag knife, pen",
            "Actual metres",
            "warp, along the roll",
            "Two people or a trolley",
            "All body panels of one sail come from one lot",
            "another material, laid apart",
            "A window's hole is cut out after sewing",
        ],
    )
    def test_facts(self, cutter: str, fact: str) -> None:
        assert fact in cutter

    def test_metres_to_pull_cover_every_section(self, cutter: str, ticket: TicketDocument) -> None:
        for lay in ticket.design.lays:
            for section in lay.sections:
                printed = wording.metres_to_pull(section.length_mm)
                assert f"Section {section.number + 1} {printed} m" in cutter
                assert Decimal(printed) * 1000 >= Decimal(repr(section.length_mm))

    def test_every_part_is_on_the_lay_and_every_other_part_in_the_list(self, cutter: str, ticket: TicketDocument) -> None:
        marks = lay_marks.short_marks(ticket.design.parts)
        for part in ticket.design.parts:
            assert cutter.count(marks[part.id]) >= 2, f"{part.id}: once drawn, once listed"
            assert part.id in cutter

    def test_where_a_window_hole_is_cut(self, cutter: str, ticket: TicketDocument) -> None:
        assert "1 window hole (drawn, not cut)" in cutter
        assert "A window's hole is cut out after sewing." in cutter
        on_table = replace(ticket, design=replace(ticket.design, table=replace(ticket.design.table, window_holes=True)))
        told = reading.text(cutter_sheet_pdf(on_table))
        assert "1 window hole (cut on the table)" in told
        assert "A window's hole is cut on the table, with its panel." in told

    def test_panel_sizes_are_in_the_table(self, ticket: TicketDocument) -> None:
        lines = reading.lines(cutter_sheet_pdf(ticket))
        table = lines[lines.index("Panels, cut sizes in mm") :]
        for panel in ticket.design.panels:
            sizes = panel_sizes.panel_sizes(panel)
            at = table.index(panel.mark)
            assert table[at + 1 : at + 5] == [wording.mm(v) for v in (sizes.length, sizes.luff_end, sizes.leech_end, sizes.widest)]

    def test_the_label_is_by_far_the_largest_text(self, ticket: TicketDocument) -> None:
        sizes: dict[str, float] = {}

        def visit(text: str, _: object, matrix: list[float], __: object, size: float) -> None:
            if text.strip():
                sizes[text.strip()] = size * abs(matrix[3])

        reading.reader(cutter_sheet_pdf(ticket)).pages[0].extract_text(visitor_text=visit)
        assert sizes["Heron 214"] == max(sizes.values()) >= 36


def test_panel_sizes_by_hand() -> None:
    """A panel 1,000 long, 400 wide with slanted ends: whole width from x = 100 (lower luff end) to x = 900 (upper leech end)."""
    cut = ((100.0, 0.0), (1000.0, 0.0), (900.0, 400.0), (0.0, 400.0))
    panel = Panel("P2", (), cut, ((100.0, 15.0), (995.0, 15.0)), ((5.0, 385.0), (905.0, 385.0)), (), full_width=True)
    sizes = panel_sizes.panel_sizes(panel)
    assert (sizes.length, sizes.widest) == (1000.0, 400.0)
    assert sizes.luff_end == 400.0
    assert sizes.leech_end == pytest.approx(380.0)  # at x = 905 the slanted end has cut off 20 of the 400


def test_the_sewer_reads_steps_seams_and_cautions(ticket: TicketDocument) -> None:
    text = reading.text(sewer_sheet_pdf(ticket))
    steps = next(p.steps for p in ticket.plans if p.station == "sewer")
    positions = [text.index(f"{n} {s.label}") for n, s in enumerate(steps, start=1)]
    assert positions == sorted(positions)
    for step in steps:
        assert wording.spelled(step.how) in text
        assert step.caution in text
    for number in range(1, len(ticket.design.panels)):
        assert f"seam {number} P{number} to P{number + 1}" in text
    assert "Guards on" in text


class TestFinisher:
    @pytest.mark.parametrize(
        "fact",
        [
            "The loft's own check; the class's measurer certifies.",
            "Starboard side (luff on the right)",
            "Port side (luff on the left)",
            "Starboard side uppermost",
            "Pins, needles and blades counted off the sail",
            "Royalty label on: on the starboard side at the tack, above the patch",
            "Insignia three wavelets under a bar",
        ],
    )
    def test_facts(self, finisher: str, fact: str) -> None:
        assert fact in finisher

    def test_the_number_is_drawn_on_both_sides(self, ticket: TicketDocument) -> None:
        lines = reading.lines(finisher_sheet_pdf(ticket))
        port = next(i for i, line in enumerate(lines) if line.startswith("Port side"))
        drawn = [line for line in lines[:port] if len(line) == 1 and line.isdigit()]
        assert drawn[:6] == list("214214")

    def test_the_kit_names_every_material_on_a_ticket_without_costs(self, ticket: TicketDocument) -> None:
        floor = replace(ticket, sail=replace(ticket.sail, cost_lines=(), items=()))
        kit = reading.text(finisher_sheet_pdf(floor)).partition("Kit and materials")[2]
        for line in ticket.sail.cost_lines:
            if line.group in ("hardware", "consumables") and not line.code.startswith("NUMBER"):
                assert f"{line.label} {wording.plain(line.quantity)} {line.unit}" in kit
        # the article that is bought may be higher than the class asks for
        assert f"sail number characters {ticket.sail.number_colour}, at least 300 mm high 6 piece 214: 3 characters × 2 sides" in kit

    def test_every_batten_has_its_length(self, finisher: str, ticket: TicketDocument) -> None:
        # the full-length one: its pocket is cut 20 mm longer than it is inside, where it is 12 mm longer than the batten
        # (common practice, no source)
        top = next(p for p in ticket.design.parts if p.id == "POCKET-TOP")
        assert max(x for x, _ in top.outer) - 20 - 12 == pytest.approx(954, abs=1)
        for words in ("lower, for a batten of 600 mm", "middle, for a batten of 640 mm", "top, for a full-length batten of 954 mm"):
            assert f"Batten pocket {words}" in finisher

    def test_every_limit_has_a_blank_beside_it(self, finisher: str, ticket: TicketDocument) -> None:
        for room in ticket.design.headroom:
            assert f"{wording.limit_text(room.limit)} {wording.designed_text(room)}" in finisher

    def test_nothing_is_called_a_certificate(self, finisher: str) -> None:
        assert "certificate" not in finisher.lower()


class TestHeld:
    def test_every_page_of_a_held_ticket_says_so(self, pages: list[str]) -> None:
        held = [p for p in pages if "O-2026-0001-09" in p]
        assert held
        assert all("HELD" in p for p in held)
        assert not any("HELD" in p for p in pages if "O-2026-0001-01" in p)

    def test_what_it_waits_for(self, pages: list[str]) -> None:
        assert sum("Waits for: deposit; sail number." in p for p in pages) == 3

    def test_a_number_to_follow_holds_its_step(self, pages: list[str]) -> None:
        finisher = next(p for p in pages if "FINISHER" in p and "O-2026-0001-09" in p)
        assert "put no figures on" in finisher
        assert "HOLD this step: number to follow." in finisher
        assert "Linnet (number to follow)" in finisher

    def test_each_sheet_counts_its_own_pages(self, pages: list[str]) -> None:
        assert sum("page 1 of" in p for p in pages) == 6


def test_no_ticket_is_refused() -> None:
    with pytest.raises(ValueError, match="no tickets"):
        tickets_pdf([])


def test_a_label_of_sixty_characters_stays_on_its_line(ticket: TicketDocument) -> None:
    long = "The Extraordinarily Long And Winding Name Of One Small Boat X 7"
    pdf = cutter_sheet_pdf(replace(ticket, sail=replace(ticket.sail, label=long)))
    assert long in reading.lines(pdf)


@pytest.mark.parametrize("render", [cutter_sheet_pdf, sewer_sheet_pdf, finisher_sheet_pdf])
def test_the_same_ticket_gives_the_same_bytes(render: object, ticket: TicketDocument) -> None:
    assert callable(render)
    assert render(ticket) == render(ticket)


EYE = ByEye("C.6.3 (k)", "The leech is not convex beyond a fair line above the top batten")
HEADBOARD = Limit("headboard_size", "C.6.3 (l)", None, Decimal(150), "max 150 mm")
FIT = FitLine("Luff groove", "9.5 mm", "calliper at three heights", "Maud Pellow", "2026-03-02")


def test_text_rules_become_boxes_and_every_limit_is_measured() -> None:
    doc = replace(sample.ticket(), by_eye=(EYE,), to_measure=(HEADBOARD,), edition="2025")
    text = reading.text(finisher_sheet_pdf(doc))
    assert "Tick when it is so" in text and EYE.text in text and "C.6.3 (k)" in text
    assert "Headboard max 150" in text and "C.6.3 (l)" in text
    assert "Limits of edition 2025." in text
    assert "To check by eye" not in reading.text(finisher_sheet_pdf(sample.ticket()))


def test_a_kind_without_any_limit_says_so_and_is_measured_against_its_design() -> None:
    ticket = sample.ticket()
    text = reading.text(finisher_sheet_pdf(replace(ticket, design=replace(ticket.design, headroom=()))))
    assert "The class rules have no limit for this kind of sail" in text
    assert text.count("no limit") == 1 + len(ticket.design.sizes)


def test_the_fit_sheet_is_on_the_finisher_s_ticket_with_who_took_it() -> None:
    text = reading.text(finisher_sheet_pdf(replace(sample.ticket(), fit=(FIT,))))
    assert "Luff groove 9.5 mm calliper at three heights; Maud Pellow, 2026-03-02" in text


def test_what_is_outside_the_edition_of_the_day_stands_beside_the_measuring() -> None:
    ticket = sample.ticket()
    outside = "OUTSIDE edition 2027: half width 1,470 mm is 10 mm over the maximum of 1,460 mm (C.6.3 (f))"
    sail = replace(ticket.sail, edition_notes=(outside, "Expected to be certified on 2027-03-01"))
    text = reading.text(finisher_sheet_pdf(replace(ticket, sail=sail)))
    assert outside in text and "Expected to be certified" not in text


def test_a_long_rule_stands_under_the_measurement_and_not_in_a_narrow_column(ticket: TicketDocument) -> None:
    long, printed = "mainsail clause (number not printed)", "6 oz (257 g/m2)"
    rooms = tuple(
        replace(room, limit=replace(room.limit, rule=long, printed=printed if room.limit.measurement == "cloth_weight" else "max 1 m"))
        for room in ticket.design.headroom
    )
    renamed = replace(ticket, design=replace(ticket.design, headroom=rooms), finished=(), to_measure=())
    lines = reading.lines(finisher_sheet_pdf(renamed))
    assert lines.count(long) + lines.count(f"{long}; as printed: 6 oz (257 g/m²)") >= len(rooms) - 2  # each whole, on a line of its own
    assert "6 oz (257 g/m²)" in " ".join(lines)
    assert "Rule" not in lines


def test_where_the_class_wants_the_insignia_stands_beside_the_drawing(ticket: TicketDocument) -> None:
    words = "Insignia between the top two battens"
    sheet = replace(ticket, by_eye=(ByEye("C.9", words), ByEye("C.10", "The leech is fair")))
    for made in (sewer_sheet_pdf, finisher_sheet_pdf):
        first = reading.page_words(made(sheet))[0]
        assert f"{words} (C.9)" in " ".join(first.split()) and "The leech is fair" not in first

"""Addresses of the floor's pages."""

from __future__ import annotations

from django.urls import path

from loft.workshop import finished_pages, lay_pages, pages, remake_pages, roll_pages

urlpatterns = [
    path("tickets/", pages.ticket_list, name="ticket_list"),
    path("tickets/<int:pk>/", pages.ticket_page, name="ticket_page"),
    path("tickets/<int:pk>/<slug:station>.pdf", pages.sheet, name="ticket_sheet"),
    path("tickets/<int:pk>/steps/<int:position>/start/", pages.start_step, name="start_step"),
    path("tickets/<int:pk>/steps/<int:position>/finish/", pages.finish_step, name="finish_step"),
    path("tickets/<int:pk>/rules/", pages.check_rules, name="check_rules"),
    path("tickets/<int:pk>/non-class/", pages.sell_non_class, name="sell_non_class"),
    path("tickets/<int:pk>/options/", pages.confirm_options, name="confirm_options"),
    path("tickets/<int:pk>/cloth/", pages.book_cloth, name="book_cloth"),
    path("tickets/<int:pk>/label/", pages.record_label, name="record_label"),
    path("tickets/<int:pk>/measured/", finished_pages.measured, name="measure_sail"),
    path("tickets/<int:pk>/scrap/", pages.scrap, name="scrap_ticket"),
    path("tickets/<int:pk>/parts-<slug:layers>.dxf", lay_pages.parts_file, name="parts_file"),
    path("tickets/<int:pk>/lays/<int:place>/<int:number>-<slug:layers>.dxf", lay_pages.ticket_section_file, name="ticket_section_file"),
    path("tickets/<int:pk>/remakes/", remake_pages.ask, name="ask_remake"),
    path("remakes/<int:pk>/withdraw/", remake_pages.withdraw, name="withdraw_remake"),
    path("lays/", lay_pages.lay_list, name="lay_list"),
    path("lays/new/", lay_pages.new_lay, name="new_lay"),
    path("lays/<int:pk>/", lay_pages.lay_page, name="lay_page"),
    path("lays/<int:pk>/sheet.pdf", lay_pages.lay_sheet, name="lay_sheet"),
    path("lays/<int:pk>/stop/", lay_pages.stop, name="stop_lay"),
    path("lays/<int:pk>/plan-again/", lay_pages.plan_again, name="plan_lay_again"),
    path("lays/<int:pk>/cancel/", lay_pages.cancel, name="cancel_lay"),
    path("lays/<int:pk>/rolls/", lay_pages.put_on_rolls, name="put_on_rolls"),
    path("lays/<int:pk>/sections/<int:number>/cut/", lay_pages.cut_section, name="cut_section"),
    path("lays/<int:pk>/sections/<int:number>.svg", lay_pages.section_drawing, name="section_drawing"),
    path("lays/<int:pk>/sections/<int:number>-<slug:layers>.dxf", lay_pages.section_file, name="section_file"),
    path("rolls/", roll_pages.roll_list, name="roll_list"),
    path("rolls/new/", roll_pages.book_roll, name="book_roll"),
    path("rolls/<int:pk>/flaws/", roll_pages.note_flaws, name="note_flaws"),
    path("rolls/<int:pk>/gone/", roll_pages.put_away, name="put_roll_away"),
    path("designs/<slug:key>/sail.svg", pages.sail_drawing, name="sail_drawing"),
    path("designs/<slug:key>/lay.svg", pages.lay_drawing, name="lay_drawing"),
]

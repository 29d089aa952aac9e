"""Addresses of the floor's pages."""

from __future__ import annotations

from django.urls import path

from loft.workshop import pages

urlpatterns = [
    path("tickets/", pages.ticket_list, name="ticket_list"),
    path("tickets/<int:pk>/", pages.ticket_page, name="ticket_page"),
    path("tickets/<int:pk>/<slug:station>.pdf", pages.sheet, name="ticket_sheet"),
    path("tickets/<int:pk>/steps/<int:position>/start/", pages.start_step, name="start_step"),
    path("tickets/<int:pk>/steps/<int:position>/finish/", pages.finish_step, name="finish_step"),
    path("tickets/<int:pk>/fit/", pages.confirm_fit, name="confirm_fit"),
    path("tickets/<int:pk>/options/", pages.confirm_options, name="confirm_options"),
    path("tickets/<int:pk>/cloth/", pages.book_cloth, name="book_cloth"),
    path("tickets/<int:pk>/label/", pages.record_label, name="record_label"),
    path("tickets/<int:pk>/scrap/", pages.scrap, name="scrap_ticket"),
    path("designs/<slug:key>/sail.svg", pages.sail_drawing, name="sail_drawing"),
    path("designs/<slug:key>/lay.svg", pages.lay_drawing, name="lay_drawing"),
]

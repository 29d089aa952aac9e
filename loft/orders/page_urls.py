"""Addresses of the desk's pages."""

from __future__ import annotations

from django.urls import path

from loft.orders.pages import answer, board, cloth, drafting, exposure, help, ladder, letters, member, order_papers, orders, personal, quotes

urlpatterns = [
    path("", board.order_board, name="order_board"),
    path("quotes/", quotes.quote_list, name="quote_list"),
    path("quotes/exposure/", exposure.exposure_page, name="exposure"),
    path("quotes/new/", drafting.new_quote, name="new_quote"),
    path("quotes/<int:pk>/", quotes.quote_page, name="quote_page"),
    path("quotes/<int:pk>/ladder/", ladder.ladder_page, name="price_ladder"),
    path("quotes/<int:pk>/cloth/", cloth.cloth_page, name="quote_cloth"),
    path("quotes/<int:pk>/cloth/substitute/", cloth.substitute_cloth, name="substitute_cloth"),
    path("quotes/<int:pk>/issue/", quotes.issue, name="issue_quote"),
    path("quotes/<int:pk>/revise/", drafting.revise, name="revise_quote"),
    path("quotes/<int:pk>/cancel/", quotes.cancel, name="cancel_quote"),
    path("quotes/<int:pk>/revisions/<int:revision>/quote.pdf", quotes.quote_pdf, name="quote_pdf"),
    path("quotes/<int:pk>/revisions/<int:revision>/cost-sheet.pdf", quotes.cost_sheet_pdf, name="cost_sheet_pdf"),
    path("orders/<int:pk>/", orders.order_page, name="order_page"),
    path("orders/<slug:reference>/", orders.by_reference, name="order_by_reference"),
    path("orders/<int:pk>/payments/", orders.record_payment, name="record_payment"),
    path("orders/<int:pk>/cloth/", orders.book_cloth, name="book_order_cloth"),
    path("orders/<int:pk>/due/", orders.promise, name="promise_day"),
    path("orders/<int:pk>/deliver/", orders.deliver, name="deliver_order"),
    path("orders/<int:pk>/lines/<int:position>/deliver/", orders.deliver_line, name="deliver_line"),
    path("orders/<int:pk>/confirmation.pdf", order_papers.confirmation, name="order_confirmation"),
    path("orders/<int:pk>/payments/<int:payment>/receipt.pdf", order_papers.receipt, name="payment_receipt"),
    path("orders/<int:pk>/delivery-note.pdf", order_papers.delivery_note, name="delivery_note"),
    path("orders/<int:pk>/cancel/", orders.cancel, name="cancel_order"),
    path("tickets/<int:ticket_pk>/sail-number/", orders.give_sail_number, name="give_sail_number"),
    path("letters/", letters.letter_list, name="letter_list"),
    path("letters/<slug:name>/", letters.letter_page, name="letter_page"),
    path("member/<str:token>/", member.member_page, name="member_page"),
    path("member/<str:token>/sail.svg", member.member_drawing, name="member_drawing"),
    path("accept/<str:token>/", answer.answer, name="answer"),
    path("accept/<str:token>/decline/", answer.decline, name="decline_quote"),
    path("accept/<str:token>/quote.pdf", answer.answer_pdf, name="answer_pdf"),
    path("customers/<int:pk>/data.zip", personal.export, name="export_customer"),
    path("customers/<int:pk>/erase/", personal.erase, name="erase_customer"),
    path("help/", help.help_page, name="help"),
    path("help/boats-example.csv", help.example_csv, name="example_csv"),
]

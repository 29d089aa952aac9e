"""The help page: the job in steps, the list of boats, the words."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from costing.measurements import MEASUREMENTS
from loft.catalogue import selectors as catalogue
from loft.common import pages
from loft.customers import boats_csv

#: What each column that is no size means; a size is named by its measurement.
WORDS = {
    "boat": "The boat's name.",
    "owner": "Who it is for. A sail number belongs to one owner.",
    "sail_number": f"As the class gives it, in digits, with letters where it has some: 214, K 214; “{boats_csv.TO_FOLLOW}” where it is "
    "not known yet.",
    "email": "The owner's mail address, for letters to the members of an association; it may be empty. One address a boat.",
    "pattern": "The pattern's code or name, or the kind of sail, where a list asks for sails of several; empty for the quote's own.",
    "luff_curve": "The boat's own luff curve: share of the luff's height, colon, mm in front of the straight line; like 0.25:45 0.5:60.",
    "options": "Options by code, separated by semicolons; “no” before one leaves a standard option out; like “window; no cunningham”.",
    "cloth": "A cloth's code; empty for the pattern's first.",
    "colour": "The cloth's colour; empty for its first.",
    "number_colour": "The colour of the sail numbers.",
    "certified_on": "The day on which the sail is expected to be certified, year first, not before the quote's day; empty for the end of "
    "the lead time.",
    "given_as": "a sail that is given away, as what: prize, sponsored, demo. Nothing is charged; a manager issues it with a reason",
    "non_class": "“yes”: the sail may lie outside the class's limits. It is then sold as not class legal, without the class's label and "
    "fees, every paper says so, and a manager issues it on the owner's written yes; empty for a class sail.",
    "note": "Anything that the floor should read.",
}


@require_GET
@pages.may("see_orders")
def help_page(request: HttpRequest) -> HttpResponse:
    """How the work goes, what a list of boats looks like, and what the words mean."""
    newest = {p.code: p for p in reversed(catalogue.patterns())}
    sizes = [(name, MEASUREMENTS[name].label) for name in boats_csv.SIZES]
    context = {
        "place": "help", "words": WORDS, "required": boats_csv.REQUIRED, "sizes": sizes, "patterns": list(newest.values()),
        "most_boats": boats_csv.MOST_BOATS, "example": EXAMPLE,
    }  # fmt: skip
    return render(request, "orders/help.html", context)


@require_GET
@pages.may("see_orders")
def example_csv(request: HttpRequest) -> HttpResponse:
    """An example to fill in."""
    headers = {"Content-Disposition": 'attachment; filename="boats-example.csv"'}
    return HttpResponse("\ufeff" + EXAMPLE, content_type="text/csv; charset=utf-8", headers=headers)


EXAMPLE = """\
boat,owner,sail_number,email,luff_length,leech_length,foot_length,luff_curve,options,cloth,colour,number_colour,note
Heron,Maud Pellow,214,maud@skerling.example,,,,,window,,white,black,
Wagtail,Anselm Reay,240,anselm@skerling.example,5.21 m,5540,2430 mm,0.25:45 0.5:60 0.75:42,window,,white,black,carbon topmast
Linnet,Morwenna Fell,to follow,,,,,,,,white,black,new boat
"""

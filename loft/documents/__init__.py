"""Documents: costing objects in, PDF and SVG bytes out. No Django here."""

"""The desk: quotes and revisions, acceptance, orders, payments."""

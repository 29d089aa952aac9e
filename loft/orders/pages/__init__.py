"""The desk's pages: order board, quotes, orders, the customer's acceptance page, help."""

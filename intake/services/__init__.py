"""What the shop does, without Flask: price a ticket, keep a quote, decide, erase."""

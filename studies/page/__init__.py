"""``gussetry page``: describe a block, see it, run it and read the answer in a browser."""

"""U-bolts: what they press with, and what the block bears while they do."""

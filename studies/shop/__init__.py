"""The shop's papers: what to cut, weld and bolt, what it costs, and what the shelf yields."""

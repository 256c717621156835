"""The shop's own press: its gauge, what it will read, where to stop and look, and the papers."""

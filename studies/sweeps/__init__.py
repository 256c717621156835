"""Sweeps: the layouts of a study with some of its quantities varied."""

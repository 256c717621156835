"""The demo study files as text, and ways to change them."""

from importlib.resources import files

_DEMO = files("studies.demo")

GOOD = (_DEMO / "trailer_risers.toml").read_text(encoding="utf-8")
INCHES = (_DEMO / "bench_block.toml").read_text(encoding="utf-8")

MID_WALL = 'name = "Mid-wall ribs"\npattern = "mid-wall"'


def swap(old: str, new: str) -> str:
    """The metric demo with the first ``old`` replaced; fails where there is none."""
    assert old in GOOD
    return GOOD.replace(old, new, 1)


def pad(size: str) -> str:
    """The metric demo with a pad of ``size`` in place of its first load."""
    return swap('kind = "crush"\nname = "Crush"', f'kind = "pad"\nname = "Pad"\nsize = {size}')

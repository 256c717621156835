"""Blocks to turn about in a browser: what is packed for it, and the script that draws it."""

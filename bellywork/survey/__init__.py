"""Readings of a board: crown, its loss, and what could still be got from it."""

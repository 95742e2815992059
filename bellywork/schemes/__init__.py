"""Rib schemes compared, and searched."""

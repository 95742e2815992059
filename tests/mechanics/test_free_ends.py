"""Stiffeners that end inside the panel are as long as they are, wherever in a cell they end and at whatever angle."""

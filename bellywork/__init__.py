"""Crown and bearing of piano soundboards: geometry, mechanics, balance of the strings, planing."""

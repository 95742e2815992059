"""Crown, taper, string line, scale, fair curve, thread and block."""

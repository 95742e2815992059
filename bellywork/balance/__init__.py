"""The strings on the board: states, targets, planing, plate setting."""

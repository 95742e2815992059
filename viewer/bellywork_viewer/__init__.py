"""The 3D viewer of bellywork."""

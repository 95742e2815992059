"""Board, ribs and bridges as watertight meshes; scanned surfaces read in."""

"""The commands, one file each: thin skins over the library."""

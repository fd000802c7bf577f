"""The plan on the screen: rendering, tiles, overlays and the pointer."""

"""What of the drawing a picked point most likely means."""

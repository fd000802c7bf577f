"""What a system takes: coats, mat, cove, strips, packs, and the check of a catalogue."""

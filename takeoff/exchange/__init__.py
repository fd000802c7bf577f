"""Files that go in and out: edits, catalogue, JSON."""

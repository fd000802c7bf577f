"""What the pointer does: each tool turns presses, moves and typed lengths into edits. No toolkit in here."""

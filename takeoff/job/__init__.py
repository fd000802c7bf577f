"""The job value, its edits, its history and its file."""

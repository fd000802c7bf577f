"""The command line: what a person types and reads."""

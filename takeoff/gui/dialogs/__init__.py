"""Dialogs of the window."""

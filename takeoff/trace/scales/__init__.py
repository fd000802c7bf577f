"""Readers of a sheet's scale: dimensions, scale bars, and what their readings come to."""

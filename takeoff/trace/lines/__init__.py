"""Walls, openings and rooms of a vector sheet, read from its lines and fills."""

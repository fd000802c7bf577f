"""Walls, openings and rooms of a picture, read from what a small network says of its spots."""

"""Proposals from what is drawn: linework, snapping, wall faces, openings and rooms, each with its confidence."""

"""Plane geometry: arcs, paths, offsets, coves. Plain floats, no domain words."""

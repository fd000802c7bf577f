"""Elevations, corners, edges, cove, measuring rules, uncertainty and totals."""
